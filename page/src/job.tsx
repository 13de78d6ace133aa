import { useEffect, useRef, useState, useSyncExternalStore } from "react";
import { Band, OpenAnswer } from "./answers";
import {
  type Answered,
  api,
  type Difference,
  type PaperSummary,
  type Schema,
  type VersionSummary,
} from "./api";
import { Drawn } from "./drawing";
import { Measure } from "./measure";
import { memory } from "./outbox";
import { Work } from "./work";

type Tab = "measure" | "design" | "versions";
// The service letters its drawings for paper, 7 to 9 points; on the screen they are drawn this much larger.
const DRAWN = 1.6;
// Narrower than this the figures of a long section would run into each other; a phone moves the drawing sideways.
const LEAST = 720;
const KEPT = {
  kept: "kept",
  "to keep": "kept here, going out",
  keeping: "kept here, going out",
  "no signal": "No signal: kept in this browser, goes out by itself",
  refused: "not kept",
} as const;

export function JobPage({
  id,
  who,
  head,
}: {
  id: string;
  who: string;
  head: (parts: { name: string; kept: string; tabs: React.ReactNode }) => React.ReactNode;
}) {
  const [work, setWork] = useState<Work | null>(null);
  const [trouble, setTrouble] = useState("");
  const name = useRef(who);
  name.current = who;
  useEffect(() => {
    let mine: Work | null = null;
    let gone = false;
    Work.open(id, () => name.current).then(
      (opened) => {
        mine = opened;
        if (gone) opened.close();
        else setWork(opened);
      },
      (error: Error) => setTrouble(error.message),
    );
    const back = () => mine?.retry();
    addEventListener("online", back);
    return () => {
      gone = true;
      removeEventListener("online", back);
      mine?.close();
    };
  }, [id]);
  if (trouble)
    return (
      <>
        {head({ name: "", kept: "", tabs: null })}
        <main className="jobs">
          <p role="alert">
            {trouble}. <a href="#/">Back to the jobs</a>
          </p>
        </main>
      </>
    );
  if (!work)
    return (
      <>
        {head({ name: "", kept: "", tabs: null })}
        <main className="jobs">
          <p>Opening the job.</p>
        </main>
      </>
    );
  return <Opened work={work} head={head} who={who} />;
}

function Opened({
  work,
  head,
  who,
}: {
  work: Work;
  head: (parts: { name: string; kept: string; tabs: React.ReactNode }) => React.ReactNode;
  who: string;
}) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const [tab, setTab] = useState<Tab>("design");
  const [schema, setSchema] = useState<Schema | null>(null);
  useEffect(() => {
    api.schema().then(
      (fields) => {
        setSchema(fields);
        memory.keepFields(fields).catch(() => undefined);
      },
      () =>
        memory.fields().then(
          (kept) => kept && setSchema(kept),
          () => undefined,
        ),
    );
  }, []);
  const tabs = (
    <div className="tabs" role="toolbar" aria-label="Parts of the job">
      {(["measure", "design", "versions"] as const).map((one) => (
        <button key={one} type="button" aria-pressed={tab === one} onClick={() => setTab(one)}>
          {{ measure: "Measure", design: "Design", versions: "Versions" }[one]}
        </button>
      ))}
    </div>
  );
  const problems = state.answered?.problems ?? [];
  return (
    <>
      {head({
        name: state.opened.summary.name,
        kept: `${KEPT[state.kept]}, version ${state.opened.version.number}`,
        tabs,
      })}
      {state.trouble && (
        <p className="says trouble" role="alert">
          {state.trouble}
        </p>
      )}
      {state.conflict && (
        <Both
          theirs={state.conflict.theirs}
          mine={state.edits.length}
          onMine={() => void work.settle(true)}
          onTheirs={() => void work.settle(false)}
        />
      )}
      {problems.length > 0 && (
        <details className="says">
          <summary>
            {problems.length === 1 ? "One thing to put right" : `${problems.length} things to put right`}.
            Meanwhile what is wrong counts as missing.
          </summary>
          <ul>
            {problems.map((p) => (
              <li key={p.path + p.code}>
                {p.path}: {p.read && p.read !== "nothing" ? `you wrote ${p.read}; ` : ""}
                {p.message}
              </li>
            ))}
          </ul>
        </details>
      )}
      {tab === "measure" && schema && (
        <main>
          <Measure work={work} schema={schema} problems={problems} />
        </main>
      )}
      {tab === "design" && <Design work={work} />}
      {tab === "versions" && <Versions work={work} who={who} />}
    </>
  );
}

function Both({
  theirs,
  mine,
  onMine,
  onTheirs,
}: {
  theirs: Difference[];
  mine: number;
  onMine: () => void;
  onTheirs: () => void;
}) {
  return (
    <section className="says" role="alert" aria-label="Two people changed this job">
      <p>Somebody saved this job while you worked on it. Nothing was written over. They changed:</p>
      <ul>
        {theirs.slice(0, 20).map((one) => (
          <li key={one.path}>
            {one.path}: {one.older ?? "left out"} became {one.newer ?? "left out"}
          </li>
        ))}
      </ul>
      <div className="presses">
        <button type="button" className="main" onClick={onMine}>
          Put my {mine === 1 ? "edit" : `${mine} edits`} on theirs
        </button>
        <button type="button" onClick={onTheirs}>
          Take theirs, drop mine
        </button>
      </div>
    </section>
  );
}

function Design({ work }: { work: Work }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const [open, setOpen] = useState(0);
  const [touched, setTouched] = useState("");
  const [way, setWay] = useState(0);
  const [papers, setPapers] = useState<PaperSummary[]>([]);
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => {
    api.papers().then(setPapers, () => undefined);
  }, []);
  useEffect(() => {
    const holder = frame.current;
    if (!holder) return;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const watch = new ResizeObserver(() => {
      const width = Math.max(LEAST, Math.floor(holder.clientWidth));
      const narrow = holder.clientWidth < LEAST;
      const plan = narrow ? width : Math.max(220, Math.min(380, innerHeight * 0.4));
      const frames = {
        width: width / DRAWN,
        plan: plan / DRAWN,
        section: Math.max(220, innerHeight * 0.4) / DRAWN,
      };
      if (frames.width === work.frames.width && frames.plan === work.frames.plan) return;
      work.frames = frames;
      clearTimeout(timer);
      timer = setTimeout(() => work.ask(), 150);
    });
    watch.observe(holder);
    return () => {
      clearTimeout(timer);
      watch.disconnect();
    };
  }, [work]);
  const answered = state.answered;
  const worst =
    answered?.answers.find((a) => a.verdict === "fails") ??
    answered?.answers.find((a) => a.verdict === "unknown") ??
    answered?.answers.find((a) => a.verdict === "close") ??
    answered?.answers[4];
  const answer = answered?.answers.find((a) => a.question === open) ?? worst;
  const [plan, ...sections] = answered?.views ?? [];
  const shown = Math.min(way, Math.max(sections.length - 1, 0));
  const section = sections[shown];
  return (
    <main className="sheet" aria-busy={state.stale}>
      <div className="drawings" ref={frame}>
        {!answered && <p>Rain is falling on the roof. The answers come in a moment.</p>}
        {answered && !answered.designed && (
          <p>Nothing could be read of this document yet: see what there is to put right.</p>
        )}
        {plan && <Drawn view={plan} touched={touched} onTouch={setTouched} />}
        {answered?.designed && <Band answered={answered} open={answer?.question ?? 0} onOpen={setOpen} />}
        {sections.length > 1 && (
          <div className="tabs" role="toolbar" aria-label="Long section of which way">
            {sections.map((view, i) => (
              <button key={view.name} type="button" aria-pressed={i === shown} onClick={() => setWay(i)}>
                {view.title}
              </button>
            ))}
          </div>
        )}
        {section && <Drawn view={section} touched={touched} onTouch={setTouched} />}
        {answered?.what_if && <WhatIf found={answered.what_if} />}
      </div>
      <div className="margin">
        {answer && <OpenAnswer answer={answer} onTouch={setTouched} />}
        {answered?.designed && (
          <>
            <div className="block">
              <h3>This design rests on</h3>
              <p className="rests">
                {(["given", "designed", "assumed", "missing"] as const).map((kind) => (
                  <span key={kind}>
                    <Dot kind={kind} /> {answered.counts[kind] ?? 0} {kind}
                  </span>
                ))}
              </p>
              {answered.open_sizes && <p>{answered.open_sizes}</p>}
            </div>
            <div className="block">
              <h3>Papers</h3>
              {answered.waits.length > 0 && (
                <p className="small">Papers for digging wait: {answered.waits.join("; ")}</p>
              )}
              <ul className="papers">
                {papers.map((paper) => (
                  <li key={paper.name}>
                    <a
                      href={`api/jobs/${state.opened.summary.id}/papers/${paper.name}`}
                      target="_blank"
                      rel="noreferrer"
                    >
                      {paper.file}
                    </a>
                    <span className="small">{paper.what}</span>
                  </li>
                ))}
              </ul>
              {state.kept !== "kept" && (
                <p className="small">Papers are made of the last version that was kept.</p>
              )}
            </div>
          </>
        )}
      </div>
    </main>
  );
}

function WhatIf({ found }: { found: NonNullable<Answered["what_if"]> }) {
  return (
    <section className="block" aria-label="What if">
      <h2>What if one thing fails</h2>
      <ul className="findings">
        {found.rows.map((row) => (
          <li key={row.letter} className="finding">
            <p className="what">
              {row.letter} {row.what}
            </p>
            <p>{[row.house, row.below].filter(Boolean).join(", ")}</p>
            <p className="small">
              {[row.comes_out, row.storm].filter(Boolean).join("; ")}
              {row.judged ? "" : " (shown, not judged)"}
            </p>
          </li>
        ))}
      </ul>
      {found.warnings.map((words) => (
        <p key={words} className="trouble">
          {words}
        </p>
      ))}
      <p className="small">{found.basis}</p>
    </section>
  );
}

function Dot({ kind }: { kind: "given" | "designed" | "assumed" | "missing" }) {
  return (
    <svg width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">
      <circle
        cx="6"
        cy="6"
        r="4"
        fill={kind === "given" ? "var(--ink)" : "none"}
        stroke="var(--ink)"
        strokeWidth="1.4"
        strokeDasharray={kind === "assumed" || kind === "missing" ? "2 1.6" : undefined}
      />
      {kind === "missing" && (
        <text x="6" y="9" textAnchor="middle" fontSize="8" fill="var(--ink)">
          ?
        </text>
      )}
    </svg>
  );
}

function Versions({ work, who }: { work: Work; who: string }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const id = state.opened.summary.id;
  const head = state.opened.version.number;
  const [versions, setVersions] = useState<VersionSummary[]>([]);
  const [compared, setCompared] = useState<{ number: number; changes: Difference[] } | null>(null);
  const [trouble, setTrouble] = useState("");
  useEffect(() => {
    if (head > 0) api.versions(id).then(setVersions, (error: Error) => setTrouble(error.message));
  }, [id, head]);
  return (
    <main className="jobs">
      <h2>Every save stays</h2>
      {trouble && (
        <p className="trouble" role="alert">
          {trouble}
        </p>
      )}
      <ul className="joblist">
        {versions.map((version) => (
          <li key={version.number}>
            <div>
              <h3>Version {version.number}</h3>
              <p className="small">
                {[version.who, new Date(version.saved).toLocaleString(), version.note]
                  .filter(Boolean)
                  .join(", ")}
              </p>
              {compared?.number === version.number && (
                <ul>
                  {compared.changes.map((one) => (
                    <li key={one.path}>
                      {one.path}: {one.older ?? "left out"} became {one.newer ?? "left out"}
                    </li>
                  ))}
                </ul>
              )}
            </div>
            <div className="presses">
              {version.number > 1 && (
                <button
                  type="button"
                  onClick={() =>
                    api.compare(id, version.number - 1, version.number).then(
                      (changes) => setCompared({ number: version.number, changes }),
                      (error: Error) => setTrouble(error.message),
                    )
                  }
                >
                  What changed
                </button>
              )}
              <a href={`api/jobs/${id}/document.toml?number=${version.number}`} download>
                Save as a file
              </a>
              {version.number !== head && state.edits.length === 0 && (
                <button
                  type="button"
                  onClick={() =>
                    api.restore(id, version.number, head, who).then(
                      () => location.reload(),
                      (error: Error) => setTrouble(error.message),
                    )
                  }
                >
                  Take up again
                </button>
              )}
            </div>
          </li>
        ))}
      </ul>
    </main>
  );
}
