// Where a point under a finger belongs: on a corner, on a side, square to the last side, or just where it is.
import { angle, distance, footOnLine, footOnSide, meeting, toward, type XY } from "./geometry";

export type Caught = "corner" | "side" | "square" | "square corner" | "free";

export interface Scene {
  corners: { at: XY; part: string }[];
  sides: { a: XY; b: XY; part: string }[];
}

/** A point from which lines go out that a new point may stay on. */
export interface Anchor {
  at: XY;
  directions: number[];
}

export interface Snapped {
  at: XY;
  caught: Caught;
  /** The part that caught it. */
  part?: string;
  /** Lines to show: from an anchor to the point. */
  guides: [XY, XY][];
}

export interface Grid {
  /** Free points fall on whole steps. */
  free: number;
  /** Lengths along a square line fall on whole steps. */
  length: number;
  /** Nothing is written finer than this. */
  finest: number;
}

export const GRIDS: Record<"ft" | "m", Grid> = {
  ft: { free: 0.1, length: 1 / 12, finest: 0.01 },
  m: { free: 0.05, length: 0.05, finest: 0.001 },
};

export function rounded(value: number, step: number): number {
  const many = Math.round(1 / step);
  return Math.abs(many * step - 1) < 1e-9 ? Math.round(value * many) / many : Math.round(value / step) * step;
}

export const roundedPoint = (at: XY, step: number): XY => [rounded(at[0], step), rounded(at[1], step)];

/** Find where a point belongs. Corners go before sides, sides before square lines, those before the grid. */
export function snap(cursor: XY, scene: Scene, anchors: Anchor[], tolerance: number, grid: Grid): Snapped {
  const corner = nearest(
    scene.corners.map((one) => ({ ...one, away: distance(cursor, one.at) })),
    tolerance,
  );
  if (corner) return { at: corner.at, caught: "corner", part: corner.part, guides: [] };
  const lines = anchors
    .flatMap((anchor) =>
      anchor.directions.map((direction) => {
        const foot = footOnLine(cursor, anchor.at, direction);
        return { anchor: anchor.at, direction, foot, away: distance(cursor, foot) };
      }),
    )
    .filter((line) => line.away <= tolerance && distance(line.foot, line.anchor) > tolerance)
    .sort((a, b) => a.away - b.away);
  const line = lines[0];
  const second = line && lines.find((other) => other.anchor !== line.anchor);
  if (line && second) {
    const both = meeting(line.anchor, line.direction, second.anchor, second.direction);
    if (both && distance(both, cursor) <= 2 * tolerance)
      return {
        at: roundedPoint(both, grid.finest),
        caught: "square corner",
        guides: [
          [line.anchor, both],
          [second.anchor, both],
        ],
      };
  }
  const side = nearest(
    scene.sides.map((one) => {
      const foot = footOnSide(cursor, one.a, one.b);
      return { ...one, foot, away: distance(cursor, foot) };
    }),
    tolerance,
  );
  if (side && line) {
    const crossing = meeting(line.anchor, line.direction, side.a, angle(side.a, side.b));
    if (crossing && distance(crossing, cursor) <= tolerance)
      return {
        at: roundedPoint(crossing, grid.finest),
        caught: "side",
        part: side.part,
        guides: [[line.anchor, crossing]],
      };
  }
  if (side) return { at: roundedPoint(side.foot, grid.finest), caught: "side", part: side.part, guides: [] };
  if (line) {
    const length = rounded(distance(line.anchor, line.foot), grid.length);
    const at = roundedPoint(toward(line.anchor, angle(line.anchor, line.foot), length), grid.finest);
    return { at, caught: "square", guides: [[line.anchor, at]] };
  }
  return { at: roundedPoint(cursor, grid.free), caught: "free", guides: [] };
}

function nearest<T extends { away: number }>(all: T[], tolerance: number): T | undefined {
  let best: T | undefined;
  for (const one of all) if (one.away <= tolerance && (!best || one.away < best.away)) best = one;
  return best;
}

const RIGHT = Math.PI / 2;

/** Anchors of the next corner of a sketch: square to and straight on from its last side, square to its first, and the plan's own directions. */
export function anchorsOf(sketch: XY[], house: number): Anchor[] {
  const last = sketch[sketch.length - 1];
  if (!last) return [];
  const plan = [house, house + RIGHT, ...(house % RIGHT === 0 ? [] : [0, RIGHT])];
  const before = sketch[sketch.length - 2];
  if (!before) return [{ at: last, directions: plan }];
  const side = angle(before, last);
  const out: Anchor[] = [{ at: last, directions: [side + RIGHT, side, ...plan] }];
  const [first, next] = sketch;
  if (sketch.length > 2 && first && next) out.push({ at: first, directions: [angle(first, next) + RIGHT] });
  return out;
}

/** Anchors of a corner that is moved: square at both neighbors, by their other sides. */
export function anchorsAround(points: XY[], index: number, closed: boolean): Anchor[] {
  const count = points.length;
  const out: Anchor[] = [];
  for (const step of [-1, 1]) {
    const near = pick(points, index + step, closed, count);
    const far = pick(points, index + 2 * step, closed, count);
    if (!near || count < 2) continue;
    if (far && far !== points[index]) {
      const side = angle(far, near);
      out.push({ at: near, directions: [side + RIGHT, side] });
    } else out.push({ at: near, directions: [0, RIGHT] });
  }
  return out;
}

function pick(points: XY[], index: number, closed: boolean, count: number): XY | undefined {
  return closed ? points[((index % count) + count) % count] : points[index];
}

/** The direction of the longest side of the house, between 0 and a right angle: lots are mostly square to it. */
export function mainDirection(outline: XY[]): number {
  let best = 0;
  let longest = 0;
  for (let i = 0; i < outline.length; i++) {
    const a = outline[i] as XY;
    const b = outline[(i + 1) % outline.length] as XY;
    if (distance(a, b) > longest) {
      longest = distance(a, b);
      best = angle(a, b);
    }
  }
  const turned = ((best % RIGHT) + RIGHT) % RIGHT;
  return RIGHT - turned < 1e-9 ? 0 : turned;
}
