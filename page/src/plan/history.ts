// Undo and redo over everything that was changed in a job, without end.
import type { Edit, Leaf } from "../api";
import { at, join, put, steps } from "../paths";

export interface Step {
  words: string;
  undo: Edit[];
  redo: Edit[];
  /** When it was made, ms; typing into one field becomes one step. */
  made: number;
}

const ONE_GO_MS = 1500;

/** The edits that bring back what `edits` change, in the order in which they are to be made. */
export function inverse(values: Leaf, edits: Edit[]): Edit[] {
  const out: Edit[] = [];
  let now = values;
  for (const edit of edits) {
    out.unshift(back(now, edit));
    now = put(now, steps(edit.path), edit.value);
  }
  return out;
}

function back(values: Leaf, edit: Edit): Edit {
  const way = steps(edit.path);
  let path = "";
  for (const [place, step] of way.entries()) {
    const list = at(values, path);
    const taken = place === way.length - 1 && typeof step === "number" && edit.value === null;
    // what follows in a list moves up when an entry goes: the whole list comes back
    if (taken && Array.isArray(list)) return { path, value: list };
    path = join(path, step);
    const there = at(values, path);
    if (there === undefined) return { path, value: null };
    if (place === way.length - 1) return { path, value: there };
  }
  return { path: edit.path, value: null };
}

export class History {
  past: Step[] = [];
  future: Step[] = [];

  /** Write down what is about to be changed. */
  add(values: Leaf, edits: Edit[], words: string, now = Date.now()): void {
    const last = this.past[this.past.length - 1];
    const [edit] = edits;
    const same = edits.length === 1 && last?.redo.length === 1 && last.redo[0]?.path === edit?.path;
    if (last && same && this.future.length === 0 && now - last.made < ONE_GO_MS) {
      last.redo = edits;
      last.made = now;
      return;
    }
    this.past.push({ words, undo: inverse(values, edits), redo: edits, made: now });
    this.future = [];
  }

  /** The edits that take the last step back. */
  back(): Edit[] {
    const step = this.past.pop();
    if (!step) return [];
    this.future.push(step);
    return step.undo;
  }

  /** The edits that make the step again that was taken back last. */
  again(): Edit[] {
    const step = this.future.pop();
    if (!step) return [];
    this.past.push({ ...step, made: 0 });
    return step.redo;
  }

  clear(): void {
    this.past = [];
    this.future = [];
  }
}

/** A mark of a document's values that does not depend on the order of its keys. */
export function fingerprint(values: Leaf | undefined): string {
  let a = 0x811c9dc5;
  let b = 0;
  for (const char of sorted(values)) {
    const code = char.charCodeAt(0);
    a = Math.imul(a ^ code, 0x01000193) >>> 0;
    b = (Math.imul(b, 31) + code) >>> 0;
  }
  return `${a.toString(16)}-${b.toString(16)}`;
}

function sorted(value: Leaf | undefined): string {
  if (Array.isArray(value)) return `[${value.map(sorted).join(",")}]`;
  if (value !== null && typeof value === "object")
    return `{${Object.keys(value)
      .sort()
      .map((key) => `${key}:${sorted(value[key])}`)
      .join(",")}}`;
  return JSON.stringify(value ?? null);
}
