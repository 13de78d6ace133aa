// A picture under the plan: where it lies, how large a pixel is, how it is turned. No drawing in here.
import { angle, distance, minus, plus, type XY } from "./geometry";

export interface Placing {
  /** Where the picture's upper left corner lies, in units of the plan. */
  at: XY;
  /** Units of the plan in one pixel. */
  scale: number;
  /** Turned counterclockwise about that corner, radians. */
  turned: number;
  /** Pixels of the picture. */
  width: number;
  height: number;
  /** How strong it is drawn, 0 to 1. */
  strength: number;
}

/** Lay a new picture upright in the middle of what is seen. */
export function laid(width: number, height: number, middle: XY, wide: number): Placing {
  const scale = wide / width;
  return {
    at: [middle[0] - wide / 2, middle[1] + (height * scale) / 2],
    scale,
    turned: 0,
    width,
    height,
    strength: 0.7,
  };
}

/** Make the picture so large that `a` and `b` lie `apart`; `a` stays where it is. */
export function scaled(placing: Placing, a: XY, b: XY, apart: number): Placing {
  const times = apart / distance(a, b);
  if (!Number.isFinite(times) || times <= 0) return placing;
  const corner = minus(placing.at, a);
  return { ...placing, at: plus(a, [corner[0] * times, corner[1] * times]), scale: placing.scale * times };
}

/** Turn the picture about `a` so that the line from `a` to `b` lies level or upright, whichever is nearer. */
export function leveled(placing: Placing, a: XY, b: XY): Placing {
  const now = angle(a, b);
  const right = Math.PI / 2;
  const by = Math.round(now / right) * right - now;
  const corner = minus(placing.at, a);
  const [cos, sin] = [Math.cos(by), Math.sin(by)];
  const turned: XY = [corner[0] * cos - corner[1] * sin, corner[0] * sin + corner[1] * cos];
  return { ...placing, at: plus(a, turned), turned: placing.turned + by };
}

export const shifted = (placing: Placing, by: XY): Placing => ({ ...placing, at: plus(placing.at, by) });

/** Corners of the picture on the plan, from its upper left one clockwise. */
export function cornersOf(placing: Placing): XY[] {
  const { at, scale, turned, width, height } = placing;
  const along: XY = [width * scale * Math.cos(turned), width * scale * Math.sin(turned)];
  const down: XY = [height * scale * Math.sin(turned), -height * scale * Math.cos(turned)];
  return [at, plus(at, along), plus(plus(at, along), down), plus(at, down)];
}
