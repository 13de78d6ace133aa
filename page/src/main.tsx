import { StrictMode, useEffect, useState } from "react";
import { createRoot } from "react-dom/client";
import { api } from "./api";
import { Begin } from "./first/begin";
import { JobPage } from "./job";
import { JobList } from "./joblist";
import "./look.css";

const LOOKS = ["paper", "dark", "sun"] as const;
type Look = (typeof LOOKS)[number];

function remembered(key: string, otherwise: string): string {
  try {
    return localStorage.getItem(key) ?? otherwise;
  } catch {
    return otherwise;
  }
}

function remember(key: string, value: string): void {
  try {
    localStorage.setItem(key, value);
  } catch {
    // a browser that keeps nothing still works
  }
}

function route(): string | null {
  if (location.hash === "#/new") return "new";
  return /^#\/jobs\/([0-9a-f-]+)(?:\/(?:first|visit|plan))?$/.exec(location.hash)?.[1] ?? null;
}

function Page() {
  const [job, setJob] = useState(route);
  const [look, setLook] = useState<Look>(() => {
    const kept = remembered("look", matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "paper");
    return LOOKS.find((one) => one === kept) ?? "paper";
  });
  const [who, setWho] = useState(() => remembered("who", ""));
  const [keyNeeded, setKeyNeeded] = useState<boolean | null>(null);
  useEffect(() => {
    const follow = () => setJob(route());
    addEventListener("hashchange", follow);
    return () => removeEventListener("hashchange", follow);
  }, []);
  useEffect(() => {
    document.documentElement.dataset.look = look;
    remember("look", look);
  }, [look]);
  useEffect(() => {
    api.health().then(
      (health) => setKeyNeeded(health.key_needed),
      () => setKeyNeeded(false),
    );
  }, []);
  const head = ({ name, kept, tabs }: { name: string; kept: string; tabs: React.ReactNode }) => (
    <header className="head">
      <a className="brand" href="#/">
        <svg
          viewBox="0 0 32 32"
          fill="none"
          stroke="var(--ink)"
          strokeWidth="3"
          strokeLinejoin="round"
          strokeLinecap="round"
          aria-hidden="true"
        >
          <path d="M3 15 16 4l13 11" />
          <path d="M7 14v8" />
          <path d="M7 22a9 7 0 0 0 18 0z" fill="var(--wet)" stroke="var(--water)" />
        </svg>
        <span className={name ? "when-wide" : ""}>Roofwell</span>
      </a>
      {name && <h1>{name}</h1>}
      {tabs}
      <div className="rest">
        <span className="small" role="status">
          {kept}
        </span>
        {/* asked for where jobs are chosen: in a job every line of a phone counts */}
        {!name && (
          <label className="line small">
            your name
            <input
              value={who}
              size={10}
              maxLength={80}
              onChange={(event) => {
                setWho(event.target.value);
                remember("who", event.target.value);
              }}
            />
          </label>
        )}
        <div className="looks" role="toolbar" aria-label="Look">
          {LOOKS.map((one) => (
            <button key={one} type="button" aria-pressed={look === one} onClick={() => setLook(one)}>
              {{ paper: "Paper", dark: "Dark", sun: "Sun" }[one]}
            </button>
          ))}
        </div>
      </div>
    </header>
  );
  if (keyNeeded === null) return null;
  if (keyNeeded)
    return (
      <>
        {head({ name: "", kept: "", tabs: null })}
        <AskKey onIn={() => setKeyNeeded(false)} />
      </>
    );
  if (job === "new")
    return (
      <>
        {head({ name: "", kept: "", tabs: null })}
        <Begin who={who} />
      </>
    );
  if (job) return <JobPage key={job} id={job} who={who} head={head} />;
  return (
    <>
      {head({ name: "", kept: "", tabs: null })}
      <JobList who={who} />
    </>
  );
}

function AskKey({ onIn }: { onIn: () => void }) {
  const [key, setKey] = useState("");
  const [trouble, setTrouble] = useState("");
  return (
    <main className="jobs">
      <form
        className="line"
        onSubmit={(event) => {
          event.preventDefault();
          api.giveKey(key).then(onIn, (error: Error) => setTrouble(error.message));
        }}
      >
        <label className="field">
          <span>Access key, as Roofwell printed it when it was started</span>
          <input value={key} autoComplete="off" onChange={(event) => setKey(event.target.value)} />
        </label>
        <button type="submit" className="main">
          Open
        </button>
      </form>
      {trouble && (
        <p className="trouble" role="alert">
          {trouble}
        </p>
      )}
    </main>
  );
}

const holder = document.getElementById("page");
if (holder)
  createRoot(holder).render(
    <StrictMode>
      <Page />
    </StrictMode>,
  );

// Where the browser allows it (this machine, or HTTPS) the page can be reloaded while the service is away.
if (import.meta.env.PROD && isSecureContext && "serviceWorker" in navigator) {
  navigator.serviceWorker.register("./sw.js").catch(() => undefined);
}
