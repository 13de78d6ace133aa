// The first ten minutes of a house: one question after the other, each answer a leaf of the job, each told at once.
import { useEffect, useRef, useState, useSyncExternalStore } from "react";
import { at } from "../paths";
import type { Work } from "../work";
import { DraftSheet } from "./draft";
import { useLook } from "./look";
import { Lot } from "./lot";
import { type Asked, Rain, Roof, rowsOf, Soil, setAside, Water } from "./questions";
import { Shots } from "./shots";

const STEPS = ["Water", "Roof", "Rain", "Levels", "Distances", "Soil", "Draft"] as const;
const ASKED = { Water, Roof, Rain, Levels: Shots, Distances: Lot, Soil } as const;
const TITLES: Record<(typeof STEPS)[number], string> = {
  Water: "Find the cause first",
  Roof: "How much roof?",
  Rain: "Whose rain?",
  Levels: "Is there fall?",
  Distances: "How far?",
  Soil: "Does the soil take it?",
  Draft: "The draft",
};

export function FirstHouse({
  work,
  who,
  onVisit,
  onDesign,
}: {
  work: Work;
  who: string;
  onVisit: () => void;
  onDesign: () => void;
}) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const units = at(state.values, "job.units") === "metric" ? "metric" : "us";
  const looked = useLook(work, units);
  const [step, setStep] = useState(() => begun(work));
  const heading = useRef<HTMLHeadingElement>(null);
  const name = STEPS[step] ?? "Water";
  useEffect(() => {
    work.quiet = name !== "Draft";
    work.ask();
    return () => {
      work.quiet = false;
    };
  }, [work, name]);
  const list = useRef<HTMLOListElement>(null);
  // on a phone the questions stand in one row that is wider than the screen
  useEffect(() => {
    const row = list.current;
    const now = row?.children[step];
    if (row && now instanceof HTMLElement)
      row.scrollLeft = now.offsetLeft - (row.clientWidth - now.offsetWidth) / 2;
  }, [step]);
  const go = (to: number) => {
    setStep(to);
    scrollTo(0, 0);
    requestAnimationFrame(() => heading.current?.focus());
  };
  const asked: Asked = { work, units, looked, who };
  const stopped = looked.look?.stop != null && setAside(state.values) === null;
  const when = at(state.values, "complaint.water_stands");
  const held = (name === "Water" && (stopped || when === undefined)) || (stopped && name === "Draft");
  const Question = name === "Draft" ? null : ASKED[name];
  return (
    <main className={`first ${name === "Draft" ? "wide" : ""}`}>
      <ol className="steps" aria-label="Questions" ref={list}>
        {STEPS.map((one, place) => (
          <li key={one}>
            <button
              type="button"
              aria-current={place === step ? "step" : undefined}
              disabled={stopped && place > 0}
              onClick={() => go(place)}
            >
              {one}
            </button>
          </li>
        ))}
      </ol>
      <div className="ask">
        <h1 ref={heading} tabIndex={-1}>
          {TITLES[name]}
        </h1>
        {Question && <Question {...asked} />}
        {name === "Draft" &&
          (stopped ? (
            <p>No draft: say first what was found of the cause, under Water.</p>
          ) : (
            <DraftSheet work={work} onVisit={onVisit} onDesign={onDesign} />
          ))}
        {name !== "Draft" && (
          <div className="onward">
            <button type="button" className="main" disabled={held} onClick={() => go(step + 1)}>
              {step === STEPS.length - 2 ? "Show the draft" : "Next"}
            </button>
            {step > 0 && (
              <button type="button" className="quiet" onClick={() => go(step - 1)}>
                Back
              </button>
            )}
            {name === "Water" && when === undefined && (
              <span className="small">One of the five first: the cause decides whether a well helps.</span>
            )}
          </div>
        )}
      </div>
      {name !== "Draft" && name !== "Water" && <Told looked={looked} />}
      {looked.trouble && (
        <p className="trouble" role="status">
          {looked.trouble}
        </p>
      )}
    </main>
  );
}

/** What the answers so far tell, always in sight. */
function Told({ looked }: { looked: Asked["looked"] }) {
  const look = looked.look;
  const all = look?.whole_roof;
  return (
    <aside className="told" aria-label="What this tells" aria-live="polite">
      <h2>What this tells</h2>
      {all ? (
        <dl>
          <dt>roof</dt>
          <dd>{all.area}</dd>
          <dt>in {look?.rain_step}</dt>
          <dd>
            <strong>{all.volume}</strong>
          </dd>
          <dt>{look?.cloudburst}</dt>
          <dd>
            <strong>{all.flow}</strong>
          </dd>
        </dl>
      ) : (
        <p className="small">Nothing yet: the roof comes first.</p>
      )}
      {all && <p className="small">{look?.rain}</p>}
      {look?.fall_whole && (
        <>
          <h3>{look.fall_whole}</h3>
          <ul className="plain">
            {look.fall.map((one) => (
              <li key={one}>{one}</li>
            ))}
          </ul>
        </>
      )}
    </aside>
  );
}

/** Where a house that was begun before goes on: at the first question without an answer. */
function begun(work: Work): number {
  const values = work.state.values;
  if (at(values, "complaint.water_stands") === undefined) return 0;
  if (rowsOf(values, "us").every((row) => !row.length)) return 1;
  if (at(values, "place.name") === undefined) return 2;
  if (at(values, "survey.readings") === undefined) return 3;
  if (at(values, "buildings.H1.note") === undefined) return 4;
  return at(values, "soil") === undefined ? 5 : 6;
}
