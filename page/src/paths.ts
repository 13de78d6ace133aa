// Key paths of a document: runs.P3.slope, survey.readings[0].rod. The service reads and writes the same.
import type { Leaf, Table } from "./api";

const BARE = /^[A-Za-z0-9_-]+$/;

export function join(base: string, step: string | number): string {
  if (typeof step === "number") return `${base}[${step}]`;
  const key = BARE.test(step) ? step : JSON.stringify(step);
  return base ? `${base}.${key}` : key;
}

export function steps(path: string): (string | number)[] {
  const out: (string | number)[] = [];
  const token = /"((?:[^"\\]|\\.)*)"|\[(\d+)\]|([^.[\]"]+)/g;
  for (const match of path.matchAll(token)) {
    if (match[1] !== undefined) out.push(JSON.parse(`"${match[1]}"`) as string);
    else if (match[2] !== undefined) out.push(Number(match[2]));
    else if (match[3] !== undefined) out.push(match[3]);
  }
  return out;
}

export function at(values: Leaf | undefined, path: string): Leaf | undefined {
  let here: Leaf | undefined = values;
  for (const step of steps(path)) {
    if (Array.isArray(here) && typeof step === "number") here = here[step];
    else if (isTable(here) && typeof step === "string") here = here[step];
    else return undefined;
  }
  return here;
}

/** Return a copy with the leaf at `path` set; null takes it out. */
export function put(values: Leaf | undefined, path: (string | number)[], value: Leaf): Leaf {
  const [step, ...rest] = path;
  if (step === undefined) return value;
  if (typeof step === "number") {
    const list = Array.isArray(values) ? [...values] : [];
    if (rest.length === 0 && value === null) list.splice(step, 1);
    else list[step] = put(list[step], rest, value);
    return list;
  }
  const table: Table = isTable(values) ? { ...values } : {};
  if (rest.length === 0 && value === null) delete table[step];
  else table[step] = put(table[step], rest, value);
  return table;
}

export function isTable(value: Leaf | undefined): value is Table {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
