// What a person does to the plan, as edits of the document. No drawing and no React in here.
import type { Edit, Leaf } from "../api";
import { at, join } from "../paths";
import { distance, middle, minus, plus, type XY } from "./geometry";
import type { Unit } from "./lengths";
import { bareUnit, moved, type Part, replaced } from "./model";

/** A typed coordinate: the place is written as it was typed, and what hangs on the part goes with it. */
export function typedEdits(
  values: Leaf,
  parts: Part[],
  part: Part,
  index: number,
  axis: 0 | 1,
  value: number,
  text: string,
  unit: Unit,
): Edit[] {
  const bare = bareUnit(values, part.entry);
  const was = part.points[index] as XY;
  const alone = part.unread.includes(index);
  const point: XY = axis === 0 ? [value, was[1]] : [was[0], value];
  const number = /^[-+]?\d+(\.\d+)?$/.test(text);
  const leaf: Leaf = number ? (bare ? Number(text) : `${text} ${unit}`) : text;
  const path = part.shape === "point" ? part.key : join(part.key, index);
  if (part.written === undefined)
    return replaced(
      values,
      parts,
      part,
      part.points.map((p, i) => (i === index ? point : p)),
    );
  const written = at(values, path);
  if (!Array.isArray(written)) return [];
  const own: Edit = { path: join(path, axis), value: leaf };
  if (alone || part.shape !== "point") return [own];
  const along = moved(values, parts, part, null, minus(point, was)).slice(1);
  return [own, ...along];
}

/** A typed side: its far corner moves along the side; the corners after it go along where the outline is a path. */
export function sideEdits(values: Leaf, parts: Part[], part: Part, index: number, length: number): Edit[] {
  const a = part.points[index] as XY;
  const far = part.shape === "outline" ? (index + 1) % part.points.length : index + 1;
  const b = part.points[far];
  if (!b || length <= 0) return [];
  const now = distance(a, b);
  if (now === 0) return [];
  const by: XY = [((b[0] - a[0]) * (length - now)) / now, ((b[1] - a[1]) * (length - now)) / now];
  if (part.shape === "outline" && isBox(part.points)) {
    // a rectangle stays one: the side across moves as well
    const next = (far + 1) % part.points.length;
    return replaced(
      values,
      parts,
      part,
      part.points.map((p, i) => (i === far || i === next ? plus(p, by) : p)),
    );
  }
  return moved(values, parts, part, far, by);
}

function isBox(points: XY[]): boolean {
  if (points.length !== 4) return false;
  const [a, b, c, d] = points as [XY, XY, XY, XY];
  const [m, n] = [middle(a, c), middle(b, d)];
  return distance(m, n) < 0.02 && Math.abs(distance(a, c) - distance(b, d)) < 0.02;
}

export function withCorner(part: Part, after: number, place?: XY): XY[] {
  const next = part.points[after + 1] ?? (part.shape === "outline" ? part.points[0] : undefined);
  const before = part.points[after] as XY;
  const last = part.points[part.points.length - 2];
  const point = place ?? (next ? middle(before, next) : last ? plus(before, minus(before, last)) : before);
  return [...part.points.slice(0, after + 1), point, ...part.points.slice(after + 1)];
}

export const withoutCorner = (part: Part, index: number): XY[] => part.points.filter((_, i) => i !== index);
