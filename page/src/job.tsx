// A job that is open: its head, what is wrong with it, and the part of it that is looked at.
import { lazy, Suspense, useEffect, useRef, useState, useSyncExternalStore } from "react";
import { api, type Schema } from "./api";
import { Both } from "./both";
import { Design } from "./design";
import { FirstHouse } from "./first/first";
import { FIRST_ORIGIN } from "./first/look";
import { Measure } from "./measure";
import { memory } from "./outbox";
import { at } from "./paths";
import { UndoRedo, useUndoKeys } from "./plan/undo";
import { Versions } from "./versions";
import { Visit } from "./visit/visit";
import { placed } from "./words";
import { Work } from "./work";

// The map library is fetched when the plan is opened first.
const Plan = lazy(() => import("./plan/plan").catch(() => ({ default: NotFetched })));

/** Without signal, or where Roofwell was renewed since this page was loaded. */
function NotFetched() {
  return (
    <main className="jobs">
      <p role="alert">The plan could not be fetched. What you entered is kept.</p>
      <p>
        <button type="button" onClick={() => location.reload()}>
          Load the page again
        </button>
      </p>
    </main>
  );
}

type Tab = "first" | "visit" | "measure" | "plan" | "design" | "versions";
const TABS: Record<Tab, string> = {
  first: "First look",
  visit: "Visit",
  measure: "Measure",
  plan: "Plan",
  design: "Design",
  versions: "Versions",
};
const KEPT = {
  kept: "kept",
  "to keep": "kept here, going out",
  keeping: "kept here, going out",
  "no signal": "No signal: kept in this browser",
  refused: "not kept",
} as const;

function tabOf(): Tab {
  const said = /\/(first|visit|plan)$/.exec(location.hash)?.[1];
  return said === "first" || said === "visit" || said === "plan" ? said : "design";
}

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
  useUndoKeys(work);
  const [tab, setTab] = useState<Tab>(tabOf);
  const choose = (one: Tab) => {
    setTab(one);
    const rest = one === "first" || one === "visit" || one === "plan" ? `/${one}` : "";
    history.replaceState(null, "", `#/jobs/${state.opened.summary.id}${rest}`);
  };
  const begun = at(state.values, "frame.origin") === FIRST_ORIGIN || tab === "first";
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
      {(Object.keys(TABS) as Tab[])
        .filter((one) => one !== "first" || begun)
        .map((one) => (
          <button key={one} type="button" aria-pressed={tab === one} onClick={() => choose(one)}>
            {TABS[one]}
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
                {placed(p.path)}: {p.read && p.read !== "nothing" ? `you wrote ${p.read}; ` : ""}
                {p.message}
              </li>
            ))}
          </ul>
        </details>
      )}
      {tab === "first" && (
        <FirstHouse work={work} who={who} onVisit={() => choose("visit")} onDesign={() => choose("design")} />
      )}
      {tab === "visit" && <Visit work={work} />}
      {tab === "measure" && (
        <div className="presses undo">
          <UndoRedo work={work} />
        </div>
      )}
      {tab === "measure" && schema && (
        <main>
          <Measure work={work} schema={schema} problems={problems} />
        </main>
      )}
      {tab === "plan" && (
        <Suspense fallback={<p className="says">Opening the plan.</p>}>
          <Plan work={work} />
        </Suspense>
      )}
      {tab === "design" && <Design work={work} />}
      {tab === "versions" && <Versions work={work} who={who} />}
    </>
  );
}
