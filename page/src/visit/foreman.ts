// What the foreman needs with no signal: elevations from a level book, slope between two shots, the rate of a falling level.
// The service reckons the same and has the last word; the worked books of tests/data/level_books.json hold both.
import type { Leaf, Table } from "../api";
import { isTable } from "../paths";
import { METERS, readLength, type Unit } from "../plan/lengths";

export interface Level {
  /** Place in the list of readings. */
  place: number;
  setup: string;
  kind: string;
  point: string;
  rod: number;
  /** Height of the instrument. */
  height: number;
  elevation: number;
  at: [number, number] | null;
  ground: boolean;
  /** The shot on the ground before, the fall from it (below zero: a rise), and how far it is where both places are known. */
  from: string;
  fall: number | null;
  away: number | null;
}

/** Lengths are kept to a hundred thousandth of a unit: sums of decimal readings come out as they are written. */
export const neat = (value: number): number => Math.round(value * 1e5) / 1e5;

/** Reduce a level book in the unit of the job: elevation = elevation of the backsight + backsight - rod reading. */
export function levels(readings: Leaf | undefined, known: Record<string, number>, unit: Unit): Level[] {
  const elevation: Record<string, number> = { ...known };
  const height: Record<string, number> = {};
  const out: Level[] = [];
  if (!Array.isArray(readings)) return out;
  for (const [place, entry] of readings.entries()) {
    const reading = readingOf(entry, unit);
    if (!reading) continue;
    const { setup, kind, point, rod, at, ground } = reading;
    if (kind === "backsight") {
      const stands = elevation[point];
      if (stands === undefined) continue;
      height[setup] = neat(stands + rod);
    }
    const over = height[setup];
    if (over === undefined) continue;
    const here = kind === "backsight" ? (elevation[point] as number) : neat(over - rod);
    const before = lastOnGround(out);
    const shot = kind !== "backsight" && ground;
    out.push({
      place,
      setup,
      kind,
      point,
      rod,
      height: over,
      elevation: here,
      at,
      ground,
      from: shot && before ? before.point : "",
      fall: shot && before ? neat(before.elevation - here) : null,
      away: shot && before?.at && at ? Math.hypot(at[0] - before.at[0], at[1] - before.at[1]) : null,
    });
    elevation[point] ??= here;
  }
  return out;
}

export function lastOnGround(book: Level[]): Level | undefined {
  return [...book].reverse().find((level) => level.kind !== "backsight" && level.ground);
}

function readingOf(entry: Leaf, unit: Unit) {
  if (!isTable(entry)) return null;
  const { setup, kind, point } = entry;
  const rod = lengthOf(entry.rod, unit);
  if (typeof setup !== "string" || typeof kind !== "string" || typeof point !== "string") return null;
  if (rod === undefined) return null;
  return { setup, kind, point, rod, at: pointOf(entry.at, unit), ground: entry.ground !== false };
}

export function lengthOf(value: Leaf | undefined, unit: Unit): number | undefined {
  if (typeof value === "number") return value;
  const read = typeof value === "string" ? readLength(value, unit, unit) : undefined;
  return read === undefined ? undefined : neat(read);
}

function pointOf(value: Leaf | undefined, unit: Unit): [number, number] | null {
  if (!Array.isArray(value) || value.length !== 2) return null;
  const x = lengthOf(value[0], unit);
  const y = lengthOf(value[1], unit);
  return x === undefined || y === undefined ? null : [x, y];
}

/** Elevations that are known beforehand: the benchmark, and the given points. */
export function knownLevels(survey: Table, unit: Unit): Record<string, number> {
  const out: Record<string, number> = {};
  for (const point of Array.isArray(survey.points) ? survey.points : []) {
    if (!isTable(point) || typeof point.id !== "string") continue;
    const elevation = lengthOf(point.elevation, unit);
    if (elevation !== undefined) out[point.id] = elevation;
  }
  const first = Array.isArray(survey.readings) ? survey.readings[0] : undefined;
  const mark = survey.benchmark ?? (isTable(first) ? first.point : undefined);
  if (typeof mark === "string") out[mark] ??= lengthOf(survey.benchmark_elevation, unit) ?? 100;
  return out;
}

/** Slope between two shots in percent, downhill above zero. */
export function slopePercent(fall: number, away: number): number | null {
  return away > 0 ? (100 * fall) / away : null;
}

/** How fast a level falls: inches an hour in feet, millimeters an hour in meters. */
export function fallRate(
  start: number,
  end: number,
  seconds: number,
  unit: Unit,
): { value: number; unit: "in/h" | "mm/h" } | null {
  if (!(seconds > 0)) return null;
  const perHour = ((end - start) * METERS[unit] * 3600) / seconds;
  return unit === "ft" ? { value: perHour / 0.0254, unit: "in/h" } : { value: perHour * 1000, unit: "mm/h" };
}

/** Decimal feet or meters, as a level book has them. */
export function showLevel(value: number, unit: Unit): string {
  return `${value.toFixed(unit === "ft" ? 2 : 3).replace("-", "−")} ${unit}`;
}

/** The same length the other way: 7.85 ft is 7′ 10 1/4″. */
export function otherWay(value: number, unit: Unit): string {
  if (unit === "m") return `${Math.round(value * 1000)} mm`;
  if (Math.round(value * 96) < 0) return `−${otherWay(-value, unit)}`;
  const eighths = Math.round(value * 96);
  const feet = Math.floor(eighths / 96);
  const inches = Math.floor((eighths % 96) / 8);
  const part = eighths % 8;
  const halved = part % 4 === 0 ? [part / 4, 2] : part % 2 === 0 ? [part / 2, 4] : [part, 8];
  const fraction = part ? `${halved[0]}/${halved[1]}` : "";
  return `${feet}′ ${[inches || !fraction ? inches : "", fraction].filter((one) => one !== "").join(" ")}″`;
}
