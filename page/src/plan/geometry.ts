// Points and lines of a flat plan, in the plan's own unit.

export type XY = [number, number];

export const minus = (a: XY, b: XY): XY => [a[0] - b[0], a[1] - b[1]];
export const plus = (a: XY, b: XY): XY => [a[0] + b[0], a[1] + b[1]];
export const times = (a: XY, k: number): XY => [a[0] * k, a[1] * k];
export const distance = (a: XY, b: XY): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const angle = (a: XY, b: XY): number => Math.atan2(b[1] - a[1], b[0] - a[0]);
export const toward = (from: XY, direction: number, length: number): XY => [
  from[0] + length * Math.cos(direction),
  from[1] + length * Math.sin(direction),
];
export const middle = (a: XY, b: XY): XY => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];

/** The foot of a point on a line without ends. */
export function footOnLine(p: XY, on: XY, direction: number): XY {
  const along = (p[0] - on[0]) * Math.cos(direction) + (p[1] - on[1]) * Math.sin(direction);
  return toward(on, direction, along);
}

/** The nearest point of a side. */
export function footOnSide(p: XY, a: XY, b: XY): XY {
  const d = minus(b, a);
  const square = d[0] * d[0] + d[1] * d[1];
  if (square === 0) return a;
  const share = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / square;
  return plus(a, times(d, Math.max(0, Math.min(1, share))));
}

/** Where two lines without ends meet; undefined where they run side by side. */
export function meeting(a: XY, da: number, b: XY, db: number): XY | undefined {
  const cross = Math.sin(db - da);
  if (Math.abs(cross) < 1e-6) return undefined;
  const d = minus(b, a);
  const along = (d[0] * Math.sin(db) - d[1] * Math.cos(db)) / cross;
  return toward(a, da, along);
}

/** The sides of an outline or a path. */
export function sides(points: XY[], closed: boolean): [XY, XY][] {
  const out: [XY, XY][] = [];
  for (let i = 0; i + 1 < points.length; i++) out.push([points[i] as XY, points[i + 1] as XY]);
  if (closed && points.length > 2) out.push([points[points.length - 1] as XY, points[0] as XY]);
  return out;
}

/** Area inside an outline. */
export function area(points: XY[]): number {
  let twice = 0;
  for (const [a, b] of sides(points, true)) twice += a[0] * b[1] - b[0] * a[1];
  return Math.abs(twice) / 2;
}

/** Whether an outline's sides cross each other. */
export function crossesItself(points: XY[], closed: boolean): boolean {
  const all = sides(points, closed);
  for (let i = 0; i < all.length; i++)
    for (let j = i + 2; j < all.length; j++) {
      if (closed && i === 0 && j === all.length - 1) continue;
      const [a, b] = all[i] as [XY, XY];
      const [c, d] = all[j] as [XY, XY];
      if (turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0) return true;
    }
  return false;
}

function turn(a: XY, b: XY, c: XY): number {
  return Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
}

/** A point halfway along a path, by length. */
export function halfway(points: XY[]): XY {
  const all = sides(points, false);
  let left = all.reduce((sum, [a, b]) => sum + distance(a, b), 0) / 2;
  for (const [a, b] of all) {
    const length = distance(a, b);
    if (left <= length && length > 0) return plus(a, times(minus(b, a), left / length));
    left -= length;
  }
  return points[0] ?? [0, 0];
}
