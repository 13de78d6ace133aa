import { useCallback, useEffect, useRef, useState } from "react";
import { api, type JobSummary, mark, NoAnswer } from "./api";
import { memory } from "./outbox";
import { moment } from "./words";

export function JobList({ who }: { who: string }) {
  const [jobs, setJobs] = useState<JobSummary[] | null>(null);
  const [search, setSearch] = useState("");
  const [archived, setArchived] = useState(false);
  const [trouble, setTrouble] = useState("");
  const [examples, setExamples] = useState<string[]>([]);
  const file = useRef<HTMLInputElement>(null);
  const [wide] = useState(() => !matchMedia("(max-width: 700px)").matches);
  const load = useCallback(() => {
    api.jobs(search, archived).then(setJobs, (error: Error) => {
      setTrouble(
        error instanceof NoAnswer
          ? "No signal. These jobs were opened in this browser before."
          : error.message,
      );
      if (error instanceof NoAnswer) memory.jobs().then(setJobs, () => undefined);
    });
  }, [search, archived]);
  useEffect(load, [load]);
  useEffect(() => {
    api.examples().then(setExamples, () => undefined);
  }, []);
  const make = (from: { starter?: string; example?: string; document?: string }) =>
    api.create({ ...from, who, operation: mark() }).then(
      (saved) => {
        location.hash = `#/jobs/${saved.job}`;
      },
      (error: Error) => setTrouble(error.message),
    );
  const act = (done: Promise<unknown>) => void done.then(load, (error: Error) => setTrouble(error.message));
  return (
    <main className="jobs">
      <h1>Jobs</h1>
      {trouble && (
        <p className="trouble" role="alert">
          {trouble}
        </p>
      )}
      <div className="presses">
        <a className="press main" href="#/new">
          New house
        </a>
      </div>
      {/* on a phone the jobs come first */}
      <details className="begin" open={wide}>
        <summary>Other ways to begin</summary>
        <div className="presses">
          <button type="button" onClick={() => void make({ starter: "us" })}>
            Start from sample figures, feet
          </button>
          <button type="button" onClick={() => void make({ starter: "metric" })}>
            Start from sample figures, meters
          </button>
          <button type="button" onClick={() => file.current?.click()}>
            Open a file
          </button>
          <input
            ref={file}
            type="file"
            accept=".toml"
            hidden
            aria-label="A job document"
            onChange={(event) => {
              const chosen = event.target.files?.[0];
              if (chosen) void chosen.text().then((document) => make({ document }));
            }}
          />
          <label className="field">
            <span>Look at an invented house</span>
            <select
              value=""
              onChange={(event) => event.target.value && void make({ example: event.target.value })}
            >
              <option value="">choose</option>
              {examples.map((name) => (
                <option key={name}>{name}</option>
              ))}
            </select>
          </label>
          <span className="field">
            <span className="small">Field sheet to print and fill in by hand</span>
            <span className="line">
              <a href="api/field-sheet.pdf?units=us" target="_blank" rel="noreferrer">
                in feet
              </a>
              <a href="api/field-sheet.pdf?units=metric" target="_blank" rel="noreferrer">
                in meters
              </a>
            </span>
          </span>
        </div>
      </details>
      <div className="line">
        <label className="field">
          <span>Search by name or customer</span>
          <input type="search" value={search} onChange={(event) => setSearch(event.target.value)} />
        </label>
        <label className="line">
          <input type="checkbox" checked={archived} onChange={(event) => setArchived(event.target.checked)} />
          show jobs that were put away
        </label>
      </div>
      {jobs && jobs.length === 0 && (
        <p>{search ? "No job holds these words." : "Nothing here yet. Begin with a new house."}</p>
      )}
      <ul className="joblist">
        {jobs?.map((job) => (
          <li key={job.id}>
            <div>
              <a href={`#/jobs/${job.id}`}>{job.name}</a>
              <p className="small">
                {[job.customer, `version ${job.head}`, moment(job.changed)].filter(Boolean).join(", ")}
              </p>
            </div>
            <div className="presses">
              <button type="button" onClick={() => act(api.duplicate(job.id, who))}>
                Copy
              </button>
              <a href={`api/jobs/${job.id}/document.toml`} download>
                Save as a file
              </a>
              <button type="button" onClick={() => act(api.archive(job.id, !job.archived))}>
                {job.archived ? "Bring back" : "Put away"}
              </button>
            </div>
          </li>
        ))}
      </ul>
    </main>
  );
}
