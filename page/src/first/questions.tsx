// The first questions: when the water stands, the roof at each downspout, the rain of the place, the soil.
import { useState } from "react";
import type { Leaf, Table } from "../api";
import { at, isTable } from "../paths";
import type { Work } from "../work";
import type { Looked } from "./look";
import { LengthField, Pick, withoutUnit, withUnit } from "./parts";

export interface Asked {
  work: Work;
  units: "us" | "metric";
  looked: Looked;
  who: string;
}

const WHEN: [string, string][] = [
  ["during rain", "while it rains, and soon gone"],
  ["hours", "for hours after rain"],
  ["days", "for days after rain"],
  ["in spring", "in spring, whatever the rain"],
  ["in dry weather", "in dry weather too"],
];

export function Water({ work, looked, who }: Asked) {
  const when = at(work.state.values, "complaint.water_stands");
  const where = at(work.state.values, "complaint.where");
  const stop = looked.look?.stop;
  const aside = setAside(work.state.values);
  return (
    <>
      <fieldset className="choices">
        <legend>When does the water stand?</legend>
        {WHEN.map(([value, words]) => (
          <label key={value} className="choice">
            <input
              type="radio"
              name="when"
              checked={when === value}
              onChange={() => work.edit("complaint.water_stands", value)}
            />
            <span>{words}</span>
          </label>
        ))}
      </fieldset>
      {stop && stop.when === when && (
        <section className="stop" role="alert" aria-label="Stop here" ref={intoView}>
          <h2>Stop here: no well is sized yet</h2>
          <p>{stop.why}</p>
          <p>{stop.call}</p>
          {stop.may_go_on && <GoOn work={work} who={who} check={stop.check} aside={aside} />}
        </section>
      )}
      <label className="field">
        <span>Where, in the family's words</span>
        <input
          value={typeof where === "string" ? where : ""}
          onChange={(event) => work.edit("complaint.where", event.target.value || null)}
        />
      </label>
    </>
  );
}

/** On a phone the stop would stand under the fold. */
function intoView(element: HTMLElement | null): void {
  element?.scrollIntoView({ block: "center" });
}

/** Place of the reason in the list of overrules, and the reason. */
export function setAside(values: Leaf): { place: number; reason: string } | null {
  const list = at(values, "overrules");
  if (!Array.isArray(list)) return null;
  const place = list.findIndex((one) => isTable(one) && one.check === "cause-of-water");
  const entry = list[place];
  return isTable(entry) ? { place, reason: String(entry.reason ?? "") } : null;
}

function GoOn({
  work,
  who,
  check,
  aside,
}: {
  work: Work;
  who: string;
  check: string;
  aside: { place: number; reason: string } | null;
}) {
  const [reason, setReason] = useState(aside?.reason ?? "");
  const [name, setName] = useState(who);
  const ready = reason.trim().length >= 8 && name.trim() !== "";
  if (aside)
    return (
      <p>
        You go on because: {aside.reason}. Every paper says so.{" "}
        <button type="button" className="quiet" onClick={() => work.edit(`overrules[${aside.place}]`, null)}>
          Take it back
        </button>
      </p>
    );
  return (
    <form
      className="line"
      onSubmit={(event) => {
        event.preventDefault();
        if (!ready) return;
        const list = at(work.state.values, "overrules");
        const date = new Date().toLocaleDateString("sv-SE");
        const entry: Table = { check, reason: reason.trim(), who: name.trim(), date };
        work.edit("overrules", [...(Array.isArray(list) ? list : []), entry]);
      }}
    >
      <label className="field grow">
        <span>Was the cause found? Say what it was, and a draft goes on with your reason printed</span>
        <input value={reason} maxLength={400} onChange={(event) => setReason(event.target.value)} />
      </label>
      <label className="field">
        <span>Your name</span>
        <input value={name} maxLength={80} onChange={(event) => setName(event.target.value)} />
      </label>
      <button type="submit" disabled={!ready}>
        Go on all the same
      </button>
    </form>
  );
}

interface Row {
  label: string;
  length: string;
  width: string;
}

export function rowsOf(values: Leaf, units: "us" | "metric"): Row[] {
  const spouts = at(values, "downspouts");
  if (!isTable(spouts)) return [];
  return Object.keys(spouts).map((label) => {
    const area = at(values, `roofs.${roofOf(label)}.plan_area`);
    const sides = typeof area === "string" ? area.split(" x ") : [];
    return { label, length: withoutUnit(sides[0], units), width: withoutUnit(sides[1], units) };
  });
}

const roofOf = (label: string): string => label.replace("D", "R");
const gutterOf = (label: string): string => label.replace("D", "G");

export function Roof({ work, units, looked }: Asked) {
  const [rows, setRows] = useState<Row[]>(() => {
    const kept = rowsOf(work.state.values, units);
    return kept.length ? kept : [{ label: "D1", length: "", width: "" }];
  });
  // The row that was just asked for: the cursor goes there.
  const [fresh, setFresh] = useState("");
  const keep = (row: Row) => {
    const [length, width] = [withUnit(row.length, units), withUnit(row.width, units)];
    const roof = roofOf(row.label);
    const area = length && width ? `${length} x ${width}` : null;
    const isNew = at(work.state.values, `downspouts.${row.label}`) === undefined;
    work.change(
      [
        ...(isNew
          ? [
              { path: `roofs.${roof}.gutter`, value: gutterOf(row.label) },
              { path: `gutters.${gutterOf(row.label)}`, value: {} },
              { path: `downspouts.${row.label}.gutter`, value: gutterOf(row.label) },
            ]
          : []),
        { path: `roofs.${roof}.plan_area`, value: area },
      ],
      `roof of ${row.label}`,
    );
  };
  const change = (place: number, part: Partial<Row>) => {
    const next = rows.map((row, i) => (i === place ? { ...row, ...part } : row));
    setRows(next);
    const row = next[place];
    if (row) keep(row);
  };
  const last = rows[rows.length - 1];
  return (
    <>
      <p>
        Walk round the house. At each downspout: the length of gutter it drains times the depth of roof behind
        it, seen from above.
      </p>
      <ol className="rows">
        {rows.map((row, place) => {
          const told = looked.look?.roofs.find((one) => one.label === row.label);
          const wrong = looked.problems.find(
            (p) => p.path === `roofs.${roofOf(row.label)}.plan_area`,
          )?.message;
          return (
            <li key={row.label}>
              <h2>{row.label}</h2>
              <LengthField
                label={`gutter length at ${row.label}`}
                fresh={fresh === row.label}
                value={row.length}
                units={units}
                onValue={(length) => change(place, { length })}
              />
              <LengthField
                label={`roof depth at ${row.label}`}
                value={row.width}
                units={units}
                onValue={(width) => change(place, { width })}
              />
              <p className="tells" aria-live="polite">
                {wrong ? (
                  <span className="trouble">{wrong}</span>
                ) : told && row.length && row.width ? (
                  <>
                    <strong>{told.volume}</strong> in {looked.look?.rain_step}, <strong>{told.flow}</strong>{" "}
                    in a cloudburst <span className="small">({told.area})</span>
                  </>
                ) : (
                  ""
                )}
              </p>
            </li>
          );
        })}
      </ol>
      <div className="presses">
        <button
          type="button"
          onClick={() => {
            const next = Number(last?.label.slice(1) ?? 0) + 1;
            setRows([...rows, { label: `D${next}`, length: "", width: "" }]);
            setFresh(`D${next}`);
          }}
        >
          One more downspout
        </button>
        {rows.length > 1 && last && (
          <button
            type="button"
            className="quiet"
            onClick={() => {
              setRows(rows.slice(0, -1));
              if (at(work.state.values, `downspouts.${last.label}`) !== undefined)
                work.change(
                  [
                    { path: `downspouts.${last.label}`, value: null },
                    { path: `roofs.${roofOf(last.label)}`, value: null },
                    { path: `gutters.${gutterOf(last.label)}`, value: null },
                  ],
                  `take ${last.label} out`,
                );
            }}
          >
            Take {last.label} out
          </button>
        )}
      </div>
    </>
  );
}

const FIGURES: [string, string][] = [
  ["5 min", "5 minutes"],
  ["1 h", "1 hour"],
  ["24 h", "24 hours"],
];

export function Rain({ work, units, looked }: Asked) {
  const name = at(work.state.values, "place.name");
  const given = at(work.state.values, "rain.depths");
  const [figures, setFigures] = useState<string[]>(() =>
    FIGURES.map(([duration]) => {
      const entry = Array.isArray(given)
        ? given.find((one) => isTable(one) && one.duration === duration)
        : undefined;
      return isTable(entry) ? String(entry.depth ?? "").replace(/ (in|mm)$/, "") : "";
    }),
  );
  const unit = units === "us" ? "in" : "mm";
  const wrong = looked.problems.find((p) => p.path.startsWith("rain"))?.message;
  return (
    <>
      <label className="field">
        <span>Town and state of the house</span>
        <input
          value={typeof name === "string" ? name : ""}
          placeholder="Springfield, OH"
          onChange={(event) => work.edit("place.name", event.target.value || null)}
        />
      </label>
      <fieldset className="figures">
        <legend>
          If you have the published table of the place: rain of the 10-year storm, in{" "}
          {unit === "in" ? "inches" : "millimeters"}. All three, or leave them out
        </legend>
        {FIGURES.map(([duration, words], place) => (
          <label key={duration} className="field">
            <span>in {words}</span>
            <input
              value={figures[place]}
              inputMode="decimal"
              onChange={(event) => {
                const next = figures.map((one, i) => (i === place ? event.target.value : one));
                setFigures(next);
                const all = next.every((one) => one.trim() !== "");
                work.edit(
                  "rain.depths",
                  all
                    ? FIGURES.map(([lasts], i) => ({
                        duration: lasts,
                        return_period: "10 yr",
                        depth: `${next[i]?.trim()} ${unit}`,
                      }))
                    : null,
                );
              }}
            />
          </label>
        ))}
      </fieldset>
      {wrong && <p className="trouble">{wrong}</p>}
    </>
  );
}

export function Soil({ work, looked }: Asked) {
  const texture = at(work.state.values, "soil.texture");
  const rate = at(work.state.values, "soil.rate");
  const wrong = looked.problems.find((p) => p.path.startsWith("soil"))?.message;
  return (
    <>
      <Pick
        label="The soil where the well could stand, rubbed between the fingers"
        value={typeof texture === "string" ? texture : ""}
        none="don't know"
        options={(looked.look?.textures ?? []).map((one) => ({ value: one, words: one }))}
        onValue={(one) => work.edit("soil.texture", one || null)}
      />
      <label className="field">
        <span>How fast it takes water, if somebody measured it (such as 0.6 in/h or 25 min/in)</span>
        <input
          value={typeof rate === "string" ? rate : ""}
          onChange={(event) => work.edit("soil.rate", event.target.value || null)}
        />
      </label>
      {wrong && <p className="trouble">{wrong}</p>}
      <p>
        If nobody knows, leave both. The draft then shows the smallest and the largest well, and the soil test
        stands at the head of what to measure.
      </p>
    </>
  );
}
