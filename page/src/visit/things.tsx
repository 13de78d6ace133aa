// Roof, gutters and downspouts as they hang there; what is in and on the ground, or is not.
import { Fragment, useState } from "react";
import type { Edit, FirstLook, Leaf, Problem, SizeSold, Table } from "../api";
import { FIRST_ORIGIN } from "../first/look";
import { at, isTable, join } from "../paths";
import type { Unit } from "../plan/lengths";
import { capital, placed } from "../words";
import type { Work } from "../work";
import { kept } from "./pad";
import { Typed } from "./typed";

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
  // as they are met on the way round the house: a downspout, the gutter over it, the roof over that
  const met = spouts.map((spout) => {
    const gutter = at(values, `${join("downspouts", spout)}.gutter`);
    const over = roofs.filter((roof) => at(values, `${join("roofs", roof)}.gutter`) === gutter);
    return { spout, gutters: gutters.filter((one) => one === gutter), roofs: over };
  });
  const told = met.map((one, place) => ({
    ...one,
    gutters: one.gutters.filter((g) => met.findIndex((other) => other.gutters.includes(g)) === place),
    roofs: one.roofs.filter((r) => met.findIndex((other) => other.roofs.includes(r)) === place),
  }));
  const groups = [
    ...told,
    {
      spout: "",
      gutters: gutters.filter((g) => !met.some((one) => one.gutters.includes(g))),
      roofs: roofs.filter((r) => !met.some((one) => one.roofs.includes(r))),
    },
  ];
  const alike = likeTheFirst(values, told);
  const spoutOf = (label: string) => (
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
  );
  const gutterOf = (label: string) => (
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
  );
  const treesOf = (label: string) => {
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
  };
  return (
    <section className="visitpart" aria-label="Roof and downspouts">
      {groups.map((group, place) => (
        <Fragment key={group.spout}>
          {group.spout && spoutOf(group.spout)}
          {group.gutters.map(gutterOf)}
          {group.roofs.map(treesOf)}
          {place === 0 && alike.length > 0 && (
            <button type="button" onClick={() => work.change(alike, `all the same as ${group.spout}`)}>
              All the others the same as {group.spout}
            </button>
          )}
        </Fragment>
      ))}
      <Wrong problems={wrong} />
    </section>
  );
}

const SIZED = ["shape", "width", "breadth", "diameter", "top_width", "depth"];

/** What the first downspout, its gutter and its roof say, for those parts of the others that say nothing yet. */
function likeTheFirst(values: Leaf, groups: { spout: string; gutters: string[]; roofs: string[] }[]): Edit[] {
  const [first, ...others] = groups;
  if (!first) return [];
  const copied = (table: string, from: string | undefined, to: string[], leaves: string[]): Edit[] =>
    to
      .filter((one) => leaves.every((leaf) => at(values, `${join(table, one)}.${leaf}`) === undefined))
      .flatMap((one) =>
        leaves.flatMap((leaf) => {
          const value = from && at(values, `${join(table, from)}.${leaf}`);
          return value === undefined || value === "" ? [] : [{ path: `${join(table, one)}.${leaf}`, value }];
        }),
      );
  return [
    ...copied(
      "downspouts",
      first.spout,
      others.map((one) => one.spout),
      SIZED,
    ),
    ...copied(
      "gutters",
      first.gutters[0],
      others.flatMap((one) => one.gutters),
      SIZED,
    ),
    ...copied(
      "roofs",
      first.roofs[0],
      others.flatMap((one) => one.roofs),
      ["trees"],
    ),
  ];
}

/** How many of the parts of roof, gutters and downspouts were looked at, of how many. */
export function roofSeen(values: Leaf): [number, number] {
  const asked = [
    ...labels(at(values, "downspouts")).map((one) => `${join("downspouts", one)}.shape`),
    ...labels(at(values, "gutters")).map((one) => `${join("gutters", one)}.shape`),
    ...labels(at(values, "roofs")).map((one) => `${join("roofs", one)}.trees`),
  ];
  return [asked.filter((path) => at(values, path) !== undefined).length, asked.length];
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

/** What the crew calls them, where the document's own word is the engineer's. */
const CALLED: Record<string, string> = {
  "slope crest": "top edge of a steep bank",
  "existing drain": "drain that is there already",
};

/** The overflow that a full well's water leaves by: the job's first, or one that begins with what is said of it. */
export function overflowOf(values: Leaf): { path: string; first: Edit[] } | null {
  const overflows = labels(at(values, "overflows"));
  if (overflows[0]) return { path: join("overflows", overflows[0]), first: [] };
  const wells = labels(at(values, "wells"));
  return wells[0] ? { path: "overflows.O1", first: [{ path: "overflows.O1.of", value: wells[0] }] } : null;
}

/** How many of the questions of the lot were answered, of how many. */
export function lotSeen(values: Leaf): [number, number] {
  const none = at(values, "site.none");
  const there = at(values, "features");
  const kinds = [
    ...(Array.isArray(none) ? none.map(String) : []),
    ...(isTable(there) ? Object.values(there).map((one) => (isTable(one) ? String(one.kind) : "")) : []),
  ];
  const overflow = overflowOf(values);
  const leaves = [
    "utilities.located",
    "soil.frost_depth",
    ...(overflow ? [`${overflow.path}.destination`] : []),
  ];
  const answered = leaves.filter((path) => at(values, path) !== undefined).length;
  return [KINDS.filter(([kind]) => kinds.includes(kind)).length + answered, KINDS.length + leaves.length];
}

export function LotOfVisit({ work, unit, problems }: { work: Work; unit: Unit; problems: Problem[] }) {
  const values = work.state.values;
  const none = at(values, "site.none");
  const absent = Array.isArray(none) ? none.map(String) : [];
  const features = at(values, "features");
  const there = isTable(features) ? features : {};
  const located = at(values, "utilities.located");
  const overflow = overflowOf(values);
  const wrong = problems.filter((p) => /^(features|site|utilities|overflows|soil\.frost)\b/.test(p.path));
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
      {overflow && (
        <Typed
          work={work}
          path={`${overflow.path}.destination`}
          label="Where would the water of a full well run?"
          hint="Stand at its place and look down the lot: over the back lawn to the swale."
          along={(said) => (said === null ? [] : overflow.first)}
        />
      )}
      <Typed
        work={work}
        path="soil.frost_depth"
        bare={unit === "ft" ? "in" : "cm"}
        label={`Depth of frost (${unit === "ft" ? "in" : "cm"})`}
        hint="The building office knows it."
      />
      {KINDS.map(([kind, letter]) => (
        <Kind
          key={kind}
          kind={kind}
          unit={unit}
          byLotLine={at(values, "frame.origin") === FIRST_ORIGIN}
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
  byLotLine,
  absent,
  found,
  onAbsent,
  onFound,
}: {
  kind: string;
  unit: Unit;
  /** Places count from the lot's front left corner, so that a tape from the lot lines tells them. */
  byLotLine: boolean;
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
        {capital(CALLED[kind] ?? kind)}: <strong>{said}</strong>
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
            <span>
              {byLotLine ? `from the left lot line (${unit})` : `right of the plan's corner (${unit})`}
            </span>
            <input value={east} inputMode="decimal" onChange={(event) => setEast(event.target.value)} />
          </label>
          <label className="field">
            <span>{byLotLine ? `from the front lot line (${unit})` : `back from it (${unit})`}</span>
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
      {placed(problem.path)}: {problem.message}
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
