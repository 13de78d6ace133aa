// Roof, gutters and downspouts as they hang there; what is in and on the ground, or is not.
import { useState } from "react";
import type { FirstLook, Leaf, Problem, SizeSold, Table } from "../api";
import { at, isTable, join } from "../paths";
import type { Unit } from "../plan/lengths";
import type { Work } from "../work";
import { kept } from "./pad";

const TREES = ["none", "few", "many"];

export function RoofOfVisit({
  work,
  look,
  problems,
}: {
  work: Work;
  look: FirstLook | null;
  problems: Problem[];
}) {
  const values = work.state.values;
  const spouts = labels(at(values, "downspouts"));
  const gutters = labels(at(values, "gutters"));
  const roofs = labels(at(values, "roofs"));
  const wrong = problems.filter((p) => /^(roofs|gutters|downspouts)\b/.test(p.path));
  if (spouts.length === 0 && roofs.length === 0)
    return <p>No roof and no downspout yet: they begin under Measure, or with a new house.</p>;
  return (
    <section className="visitpart" aria-label="Roof and downspouts">
      {spouts.map((label) => (
        <Choice
          key={label}
          title={`Downspout ${label}`}
          options={look?.leaders ?? []}
          now={sides(at(values, join("downspouts", label)), ["width", "breadth"])}
          onChoose={(size) =>
            work.change(
              size.shape === "round"
                ? [
                    { path: join(join("downspouts", label), "shape"), value: "round" },
                    { path: join(join("downspouts", label), "diameter"), value: size.sides[0] },
                    { path: join(join("downspouts", label), "width"), value: null },
                    { path: join(join("downspouts", label), "breadth"), value: null },
                  ]
                : [
                    { path: join(join("downspouts", label), "shape"), value: "rectangular" },
                    { path: join(join("downspouts", label), "width"), value: size.sides[0] },
                    { path: join(join("downspouts", label), "breadth"), value: size.sides[1] },
                    { path: join(join("downspouts", label), "diameter"), value: null },
                  ],
              `size of ${label}`,
            )
          }
        />
      ))}
      {gutters.map((label) => (
        <Choice
          key={label}
          title={`Gutter ${label}, by its width at the top`}
          options={look?.gutters ?? []}
          now={sides(at(values, join("gutters", label)), ["top_width", "depth"])}
          onChoose={(size) =>
            work.change(
              [
                { path: join(join("gutters", label), "shape"), value: size.shape },
                { path: join(join("gutters", label), "top_width"), value: size.sides[0] },
                { path: join(join("gutters", label), "depth"), value: size.sides[1] },
              ],
              `size of ${label}`,
            )
          }
        />
      ))}
      {roofs.map((label) => {
        const path = `${join("roofs", label)}.trees`;
        return (
          <fieldset key={label} className="choices three">
            <legend>Trees over roof {label}</legend>
            {TREES.map((one) => (
              <label key={one} className="choice">
                <input
                  type="radio"
                  name={path}
                  checked={at(values, path) === one}
                  onChange={() => work.edit(path, one)}
                />
                <span>{one}</span>
              </label>
            ))}
          </fieldset>
        );
      })}
      <Wrong problems={wrong} />
    </section>
  );
}

function Choice({
  title,
  options,
  now,
  onChoose,
}: {
  title: string;
  options: SizeSold[];
  now: string;
  onChoose: (size: SizeSold) => void;
}) {
  return (
    <fieldset className="choices three">
      <legend>{title}</legend>
      {options.map((size) => (
        <label key={size.words} className="choice">
          <input
            type="radio"
            name={title}
            checked={now === (size.shape === "round" ? size.sides[0] : size.sides.join(" by "))}
            onChange={() => onChoose(size)}
          />
          <span>{size.words}</span>
        </label>
      ))}
    </fieldset>
  );
}

function sides(part: Leaf | undefined, [first, second]: [string, string]): string {
  if (!isTable(part)) return "";
  if (part.shape === "round") return String(part.diameter ?? "");
  return [part[first], part[second]].filter((one) => one !== undefined).join(" by ");
}

const KINDS: [string, string][] = [
  ["neighbor's building", "N"],
  ["septic tank", "F"],
  ["leach field", "F"],
  ["drinking-water well", "F"],
  ["slope crest", "F"],
  ["existing drain", "E"],
  ["tree", "T"],
];

export function LotOfVisit({ work, unit, problems }: { work: Work; unit: Unit; problems: Problem[] }) {
  const values = work.state.values;
  const none = at(values, "site.none");
  const absent = Array.isArray(none) ? none.map(String) : [];
  const features = at(values, "features");
  const there = isTable(features) ? features : {};
  const located = at(values, "utilities.located");
  const wrong = problems.filter((p) => /^(features|site|utilities)\b/.test(p.path));
  return (
    <section className="visitpart" aria-label="On the lot">
      <fieldset className="choices two">
        <legend>Were the buried lines located and marked?</legend>
        {[true, false].map((one) => (
          <label key={String(one)} className="choice">
            <input
              type="radio"
              name="located"
              checked={located === one}
              onChange={() => work.edit("utilities.located", one)}
            />
            <span>{one ? "yes, marked" : "no, not yet"}</span>
          </label>
        ))}
      </fieldset>
      {KINDS.map(([kind, letter]) => (
        <Kind
          key={kind}
          kind={kind}
          unit={unit}
          absent={absent.includes(kind)}
          found={Object.entries(there).filter(([, one]) => isTable(one) && one.kind === kind)}
          onAbsent={(gone) =>
            work.edit("site.none", gone ? [...absent, kind] : absent.filter((one) => one !== kind))
          }
          onFound={(place) => {
            const label = free(there, letter);
            const entry: Table = { kind, at: place, state: "existing" };
            work.change(
              [
                { path: join("features", label), value: entry },
                ...(absent.includes(kind)
                  ? [{ path: "site.none", value: absent.filter((one) => one !== kind) }]
                  : []),
              ],
              `${kind} ${label}`,
            );
          }}
        />
      ))}
      <Wrong problems={wrong} />
    </section>
  );
}

function Kind({
  kind,
  unit,
  absent,
  found,
  onAbsent,
  onFound,
}: {
  kind: string;
  unit: Unit;
  absent: boolean;
  found: [string, Leaf][];
  onAbsent: (gone: boolean) => void;
  onFound: (place: string[]) => void;
}) {
  const [open, setOpen] = useState(false);
  const [east, setEast] = useState("");
  const [north, setNorth] = useState("");
  const said = found.length
    ? found.map(([label]) => label).join(", ")
    : absent
      ? "not there"
      : "not looked for";
  return (
    <fieldset className="choices two">
      <legend>
        {capital(kind)}: <strong>{said}</strong>
      </legend>
      {found.length === 0 && (
        <label className="choice">
          <input type="checkbox" checked={absent} onChange={(event) => onAbsent(event.target.checked)} />
          <span>looked, not there</span>
        </label>
      )}
      {open ? (
        <form
          className="newhole"
          onSubmit={(event) => {
            event.preventDefault();
            onFound([kept(east, unit), kept(north, unit)]);
            setOpen(false);
            setEast("");
            setNorth("");
          }}
        >
          <label className="field">
            <span>right of the frame's corner ({unit})</span>
            <input value={east} inputMode="decimal" onChange={(event) => setEast(event.target.value)} />
          </label>
          <label className="field">
            <span>back from it ({unit})</span>
            <input value={north} inputMode="decimal" onChange={(event) => setNorth(event.target.value)} />
          </label>
          <button type="submit" disabled={east.trim() === "" || north.trim() === ""}>
            It is there
          </button>
        </form>
      ) : (
        <button type="button" onClick={() => setOpen(true)}>
          {found.length ? "One more" : "It is there"}
        </button>
      )}
    </fieldset>
  );
}

function Wrong({ problems }: { problems: Problem[] }) {
  return problems.map((problem) => (
    <p key={problem.path + problem.code} className="trouble" role="alert">
      {problem.path}: {problem.message}
    </p>
  ));
}

function labels(value: Leaf | undefined): string[] {
  return isTable(value) ? Object.keys(value) : [];
}

function free(there: Table, letter: string): string {
  let number = 1;
  while (`${letter}${number}` in there) number += 1;
  return `${letter}${number}`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
