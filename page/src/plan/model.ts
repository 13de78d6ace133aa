// The plan as it stands in the document, part by part, and the edits that change it. No drawing and no React in here.
import type { Edit, Leaf, OnPlan, Table } from "../api";
import { at, isTable, join, put, steps } from "../paths";
import { angle, distance, minus, plus, type XY } from "./geometry";
import { featureWords, type Kind, type Shape } from "./kinds";
import { METERS, readLength, trimmed, type Unit } from "./lengths";
import { rounded } from "./snap";

export type Origin = "given" | "designed" | "assumed" | "missing";

export interface Part {
  /** Key path of the place: downspouts.D1.at */
  key: string;
  /** Key path of the entry that it stands in: downspouts.D1 */
  entry: string;
  table: string;
  id: string;
  leaf: string;
  words: string;
  shape: Shape;
  /** In units of the plan. */
  points: XY[];
  origin: Origin;
  /** What the document holds there, as it was written; undefined where it is designed. */
  written: Leaf | undefined;
  /** Numbers of points that could not be read. */
  unread: number[];
  says: string;
  utility: string;
  /** Corners of a pit or basin as designed now. */
  around: XY[];
  outside: number;
  from: string;
  to: string;
  /** Which way its water goes on, radians counterclockwise from east; of outlets only. */
  onward: number;
}

const FINEST: Record<Unit, number> = { ft: 0.01, m: 0.001 };
const PLACES: Record<Unit, number> = { ft: 2, m: 3 };
const TOGETHER = 0.05;

export const unitOf = (values: Leaf | undefined): Unit => (at(values, "job.units") === "metric" ? "m" : "ft");

/** Every part that has a place, given in the document or designed by the service. */
export function partsOf(values: Leaf, designed: OnPlan[]): Part[] {
  const unit = unitOf(values);
  const placed = new Map(designed.map((one) => [`${one.table} ${one.id}`, one]));
  const out: Part[] = [];
  const add = (entry: string, table: string, id: string, leaf: string, words: string, shape: Shape) => {
    const key = join(entry, leaf);
    const written = at(values, key);
    if (written === undefined || (Array.isArray(written) && written.length === 0)) return;
    const now = placed.get(`${table} ${id}`);
    const read = readPoints(written, shape, unit, bareUnit(values, entry));
    const part: Part = {
      ...blank(entry, table, id, leaf, words, shape),
      written,
      points: read.points,
      unread: read.unread,
      origin: "given",
    };
    if (now && leaf !== "outline") withFigures(part, now, unit, values);
    part.utility = text(at(values, join(entry, "utility"))) || "unknown";
    out.push(part);
  };
  for (const id of labels(values, "buildings"))
    add(join("buildings", id), "buildings", id, "outline", "house walls", "outline");
  for (const id of labels(values, "roofs"))
    add(join("roofs", id), "roofs", id, "outline", "roof section", "outline");
  for (const id of labels(values, "features")) {
    const entry = join("features", id);
    const words = featureWords(
      text(at(values, join(entry, "kind"))),
      text(at(values, join(entry, "utility"))),
    );
    add(entry, "features", id, "outline", words, "outline");
    add(entry, "features", id, "path", words, "path");
    add(entry, "features", id, "at", words, "point");
  }
  add("complaint", "complaint", "puddle", "puddle", "puddle", "outline");
  for (const list of ["readings", "points"]) {
    const entries = at(values, `survey.${list}`);
    for (const [i, one] of (Array.isArray(entries) ? entries : []).entries()) {
      const name = isTable(one) ? text(one[list === "readings" ? "point" : "id"]) : "";
      add(join(`survey.${list}`, i), "survey", name, "at", "shot", "point");
    }
  }
  const soil = at(values, "soil");
  for (const [list, tests] of Object.entries(isTable(soil) ? soil : {}))
    for (const [i, one] of (Array.isArray(tests) ? tests : []).entries())
      if (isTable(one)) add(join(join("soil", list), i), "soil", text(one.id), "at", "soil test", "point");
  for (const [table, words, leaf, shape] of OURS) {
    const given = new Set(labels(values, table));
    for (const id of given) {
      const entry = join(table, id);
      add(entry, table, id, leaf, words, shape);
      if (table === "overflows") add(entry, table, id, "path", "way of the overflow's water", "path");
      if (table === "basins") add(entry, table, id, "outline", "walls of the basin", "outline");
    }
    for (const one of designed) {
      const key = join(join(table, one.id), leaf);
      if (one.table !== table || out.some((part) => part.key === key)) continue;
      const part = blank(join(table, one.id), table, one.id, leaf, words, shape);
      part.points = one.points.map((p) => local(p, unit));
      part.origin = one.origin === "given" ? "designed" : one.origin;
      withFigures(part, one, unit, values);
      out.push(part);
    }
  }
  for (const part of out.filter((one) => one.table === "outlets")) {
    const end =
      out.find((run) => run.table === "runs" && run.to === part.id && run.points.length > 1)?.points ?? [];
    const [a, b] = end.slice(-2);
    if (a && b) part.onward = angle(a, b);
  }
  return out;
}

const OURS: [string, string, string, Shape][] = [
  ["downspouts", "downspout", "at", "point"],
  ["wyes", "wye", "at", "point"],
  ["runs", "run of pipe", "path", "path"],
  ["basins", "catch basin", "at", "point"],
  ["wells", "dry well", "at", "point"],
  ["overflows", "overflow", "at", "point"],
  ["outlets", "outlet", "at", "point"],
];

/** What a run may begin or end at. */
export const CARRIES = new Set(["downspouts", "wyes", "basins", "wells", "outlets"]);

function blank(entry: string, table: string, id: string, leaf: string, words: string, shape: Shape): Part {
  return {
    key: join(entry, leaf),
    entry,
    table,
    id,
    leaf,
    words,
    shape,
    points: [],
    origin: "designed",
    written: undefined,
    unread: [],
    says: "",
    utility: "unknown",
    around: [],
    outside: 0,
    from: "",
    to: "",
    onward: 0,
  };
}

/** What the service says of a part: figures, the pit round it moved to where the part stands now. */
function withFigures(part: Part, now: OnPlan, unit: Unit, values: Leaf): void {
  part.says = now.says;
  part.outside = now.outside_m / METERS[unit];
  part.from = text(at(values, join(part.entry, "from"))) || now.from_id || "";
  part.to = text(at(values, join(part.entry, "to"))) || now.to_id || "";
  const then = now.points[0];
  const here = part.points[0];
  const shift: XY = then && here && part.shape === "point" ? minus(here, local(then, unit)) : [0, 0];
  part.around = now.outline.map((p) => plus(local(p, unit), shift));
}

const local = (point: XY, unit: Unit): XY => [point[0] / METERS[unit], point[1] / METERS[unit]];

function labels(values: Leaf, table: string): string[] {
  const found = at(values, table);
  return isTable(found) ? Object.keys(found).filter((id) => isTable(found[id])) : [];
}

function text(leaf: Leaf | undefined): string {
  return typeof leaf === "string" ? leaf : "";
}

/** The unit that serves bare numbers of an entry: its own, or that of the table whose list it stands in. */
export function bareUnit(values: Leaf, entry: string): string | undefined {
  const own = at(values, join(entry, "unit"));
  if (typeof own === "string") return own;
  const [table] = steps(entry);
  const whole = at(values, join(String(table), "unit"));
  return typeof whole === "string" ? whole : undefined;
}

function readPoints(written: Leaf, shape: Shape, unit: Unit, bare: string | undefined) {
  const list = shape === "point" ? [written] : Array.isArray(written) ? written : [];
  const points: XY[] = [];
  const unread: number[] = [];
  for (const [i, one] of list.entries()) {
    const east = Array.isArray(one) ? coordinate(one[0], unit, bare) : undefined;
    const north = Array.isArray(one) ? coordinate(one[1], unit, bare) : undefined;
    if (east === undefined || north === undefined) unread.push(i);
    points.push([east ?? Number.NaN, north ?? Number.NaN]);
  }
  return { points, unread };
}

export function coordinate(leaf: Leaf | undefined, unit: Unit, bare: string | undefined): number | undefined {
  if (typeof leaf === "number") return bare ? readLength(String(leaf), unit, bare) : undefined;
  return typeof leaf === "string" ? readLength(leaf, unit, bare) : undefined;
}

/** A coordinate as it is written: a bare number where the table has a unit, else a text with its unit. */
export function writeCoordinate(value: number, unit: Unit, bare: string | undefined): Leaf {
  const short = trimmed(rounded(value, FINEST[unit]), PLACES[unit]);
  if (!bare) return `${short} ${unit}`;
  if (bare === unit) return Number(short);
  const meters = Number(short) * METERS[unit];
  const per: Record<string, number> = { ft: 0.3048, in: 0.0254, m: 1, cm: 0.01, mm: 0.001 };
  return Number((meters / (per[bare] ?? 1)).toFixed(4));
}

export const writePoint = (point: XY, unit: Unit, bare: string | undefined): Leaf => [
  writeCoordinate(point[0], unit, bare),
  writeCoordinate(point[1], unit, bare),
];

/** Move one point of a part (or, with index null, all of it), and whatever hangs on it. */
export function moved(values: Leaf, parts: Part[], part: Part, index: number | null, by: XY): Edit[] {
  const points = part.points.map((p, i) => (index === null || i === index ? plus(p, by) : p));
  const out = replaced(values, parts, part, points);
  if (part.shape === "point" && CARRIES.has(part.table)) out.push(...alongWith(values, parts, part, by));
  if (part.table === "roofs" && index !== null) {
    const corner = part.points[index] as XY;
    for (const other of parts) {
      if (other.table !== "roofs" || other.key === part.key) continue;
      const same = other.points.findIndex((p) => distance(p, corner) < TOGETHER / 5);
      if (same >= 0) out.push(pointEdit(values, other, same, plus(other.points[same] as XY, by)));
    }
  }
  return out;
}

/** Give a part these points: each changed point on its own where their number stays, else the whole list. */
export function replaced(values: Leaf, parts: Part[], part: Part, points: XY[]): Edit[] {
  if (part.written === undefined) return madeGiven(values, parts, part, points);
  if (part.shape === "point") return [pointEdit(values, part, 0, points[0] as XY)];
  if (points.length === part.points.length)
    return points.flatMap((point, i) =>
      distance(point, part.points[i] as XY) > 1e-9 || part.unread.includes(i)
        ? [pointEdit(values, part, i, point)]
        : [],
    );
  const bare = bareUnit(values, part.entry);
  return [{ path: part.key, value: points.map((point) => writePoint(point, unitOf(values), bare)) }];
}

function pointEdit(values: Leaf, part: Part, index: number, point: XY): Edit {
  const path = part.shape === "point" ? part.key : join(part.key, index);
  return { path, value: writePoint(point, unitOf(values), bareUnit(values, part.entry)) };
}

/** Runs that begin or end at a part that was moved, and an overflow that stands on it, go with it. */
function alongWith(values: Leaf, parts: Part[], part: Part, by: XY): Edit[] {
  const out: Edit[] = [];
  for (const run of parts) {
    if (run.table === "runs" && run.written !== undefined) {
      if (text(at(values, join(run.entry, "from"))) === part.id)
        out.push(pointEdit(values, run, 0, plus(run.points[0] as XY, by)));
      if (text(at(values, join(run.entry, "to"))) === part.id) {
        const last = run.points.length - 1;
        out.push(pointEdit(values, run, last, plus(run.points[last] as XY, by)));
      }
    }
    const stands = run.table === "overflows" && run.written !== undefined && !run.unread.includes(0);
    // the overflow itself, and the way of its water as far as that begins there
    if (stands && distance(run.points[0] as XY, part.points[0] as XY) < TOGETHER)
      out.push(pointEdit(values, run, 0, plus(run.points[0] as XY, by)));
  }
  return out;
}

/** A designed part becomes given, with what it cannot be without: a run its ends, an overflow its well. */
export function madeGiven(values: Leaf, parts: Part[], part: Part, points: XY[]): Edit[] {
  const unit = unitOf(values);
  const bare = bareUnit(values, part.entry);
  const out: Edit[] = [];
  if (part.table === "runs") {
    for (const [leaf, id] of [
      ["from", part.from],
      ["to", part.to],
    ] as const) {
      if (id && at(values, join(part.entry, leaf)) === undefined)
        out.push({ path: join(part.entry, leaf), value: id });
      const end = parts.find((one) => one.id === id && one.leaf === "at" && CARRIES.has(one.table));
      if (end && end.written === undefined) out.push(...madeGiven(values, parts, end, end.points));
    }
  }
  if (part.table === "overflows" && part.from && at(values, join(part.entry, "of")) === undefined)
    out.push({ path: join(part.entry, "of"), value: part.from });
  const written = points.map((point) => writePoint(point, unit, bare));
  out.push({ path: part.key, value: part.shape === "point" ? (written[0] as Leaf) : written });
  return out;
}

/** A new part of a kind. Nothing where the points are not enough for its shape. */
export function added(
  values: Leaf,
  parts: Part[],
  kind: Kind,
  points: XY[],
): { edits: Edit[]; key: string } | null {
  const unit = unitOf(values);
  const enough = kind.shape === "point" ? 1 : kind.shape === "path" ? 2 : 3;
  if (points.length < enough) return null;
  if (kind.table === "complaint") {
    const bare = bareUnit(values, "complaint");
    const value = points.map((point) => writePoint(point, unit, bare));
    return { edits: [{ path: "complaint.puddle", value }], key: "complaint.puddle" };
  }
  if (kind.table === "survey") {
    const there = at(values, "survey.points");
    const entry = join("survey.points", Array.isArray(there) ? there.length : 0);
    const bare = bareUnit(values, "survey");
    const value = { id: freeShot(parts, values), at: writePoint(points[0] as XY, unit, bare), ground: true };
    return { edits: [{ path: entry, value }], key: join(entry, "at") };
  }
  const id = freeLabel(values, kind.letter, parts);
  const entry = join(kind.table, id);
  if (kind.shape === "point") {
    const value: Table = { ...kind.holds, at: writePoint(points[0] as XY, unit, undefined) };
    if (kind.table === "overflows") {
      const well = near(parts, "wells", points[0] as XY);
      if (well) value.of = well.id;
    }
    return { edits: [{ path: entry, value }], key: join(entry, "at") };
  }
  const leaf = kind.shape === "path" ? "path" : "outline";
  const value: Table = { ...kind.holds, unit, [leaf]: points.map((point) => writePoint(point, unit, unit)) };
  if (kind.table !== "runs") return { edits: [{ path: entry, value }], key: join(entry, leaf) };
  const ends = [points[0] as XY, points[points.length - 1] as XY].map((end) => partAt(parts, end));
  const edits: Edit[] = [];
  for (const [place, name] of [
    [0, "from"],
    [1, "to"],
  ] as const) {
    const end = ends[place];
    if (!end) continue;
    value[name] = end.id;
    if (end.written === undefined) edits.push(...madeGiven(values, parts, end, end.points));
  }
  return { edits: [...edits, { path: entry, value }], key: join(entry, leaf) };
}

/** The part of our system that stands at a place. */
export function partAt(parts: Part[], place: XY): Part | undefined {
  return parts.find(
    (one) => CARRIES.has(one.table) && one.leaf === "at" && distance(one.points[0] as XY, place) < TOGETHER,
  );
}

function near(parts: Part[], table: string, place: XY): Part | undefined {
  const all = parts.filter((one) => one.table === table && one.leaf === "at");
  return all.sort((a, b) => distance(a.points[0] as XY, place) - distance(b.points[0] as XY, place))[0];
}

/** Take a part out of the document; of a reading only its place goes, for the levels of others rest on it. */
export function takenOut(part: Part): Edit[] {
  if (part.written === undefined) return [];
  const alone =
    part.table === "complaint" || part.entry.startsWith("survey.readings") || part.table === "soil";
  const second = part.leaf !== "at" && (part.table === "overflows" || part.table === "basins");
  if (alone || second) return [{ path: part.key, value: null }];
  return [{ path: part.entry, value: null }];
}

/** Leave a part's place to Roofwell again; what else the document says of it stays. */
export function leftToDesign(values: Leaf, part: Part): Edit[] {
  if (part.written === undefined || !OURS.some(([table]) => table === part.table)) return [];
  const entry = at(values, part.entry);
  const rest = isTable(entry) ? Object.keys(entry).filter((key) => key !== part.leaf && key !== "unit") : [];
  return [{ path: rest.length ? part.key : part.entry, value: null }];
}

const LABELLED = [
  "buildings",
  "roofs",
  "gutters",
  "downspouts",
  "features",
  "wyes",
  "runs",
  "basins",
  "wells",
  "overflows",
  "outlets",
];

/** The next label of a letter that no part of the job has, given or designed. */
export function freeLabel(values: Leaf, letter: string, parts: Part[]): string {
  const taken = new Set([...LABELLED.flatMap((table) => labels(values, table)), ...parts.map((p) => p.id)]);
  let number = 1;
  while (taken.has(`${letter}${number}`)) number++;
  return `${letter}${number}`;
}

function freeShot(parts: Part[], values: Leaf): string {
  const names = new Set(parts.filter((one) => one.table === "survey").map((one) => one.id));
  for (const list of ["survey.readings", "survey.points"]) {
    const entries = at(values, list);
    for (const one of Array.isArray(entries) ? entries : [])
      if (isTable(one)) names.add(text(one.point) || text(one.id));
  }
  let number = 1;
  while (names.has(`shot ${number}`)) number++;
  return `shot ${number}`;
}

/** The values after edits. */
export function after(values: Leaf, edits: Edit[]): Leaf {
  return edits.reduce<Leaf>((now, edit) => put(now, steps(edit.path), edit.value), values);
}
