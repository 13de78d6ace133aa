// What is drawn over the plan while somebody works: handles of the selected part, the sketch, lines that caught a point.
import Feature from "ol/Feature";
import type Geometry from "ol/geom/Geometry";
import Point from "ol/geom/Point";
import Fill from "ol/style/Fill";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Board } from "./board";
import { middle, sides, type XY } from "./geometry";
import { cornerLetter, type Drawn, dot, FACE, lineOf, ring, sideLengths, square } from "./marks";
import type { Part } from "./model";
import { cornersOf } from "./picture";
import type { Snapped } from "./snap";

/** Where an outline or path can be taken hold of whole; runs hang on their ends. */
export function wholeHandle(part: Part): XY | null {
  if (part.shape === "point" || part.table === "runs" || part.points.length < 2 || part.unread.length)
    return null;
  if (part.shape === "path" || part.points.length < 3) return null;
  const inside = ring(part.points).getInteriorPoint().getCoordinates();
  return [inside[0] as number, inside[1] as number];
}

/** Everything over the plan, as features with styles of their own. */
export function overlay(board: Board): Feature<Geometry>[] {
  const styles: Style[] = [];
  const { drawn } = board;
  const part = board.part(board.selected);
  if (part && board.tool.kind === "hand") styles.push(...handles(part, board, drawn));
  if (board.tool.kind === "draw") styles.push(...sketch(board, drawn));
  if (board.next) styles.push(...catching(board.next, board, drawn));
  if (board.tool.kind === "picture") styles.push(...picture(board, drawn));
  return styles.map((style) => {
    const feature = new Feature<Geometry>({ geometry: style.getGeometry() as Geometry });
    feature.setStyle(style);
    return feature;
  });
}

function handles(part: Part, board: Board, drawn: Drawn): Style[] {
  const { inks } = drawn;
  const half = board.coarse ? 7 : 5;
  const points = part.points.filter((p) => Number.isFinite(p[0] + p[1]));
  const [first] = points;
  if (!first) return [];
  const out: Style[] = [];
  const halo = new Stroke({ color: inks.water, width: 4 });
  if (part.shape === "point") {
    out.push(
      new Style({
        geometry: new Point(first),
        image: new RegularShape({
          points: 24,
          radius: board.coarse ? 24 : 16,
          stroke: new Stroke({ color: inks.water, width: 3 }),
        }),
        zIndex: 120,
      }),
    );
    return out;
  }
  const closed = part.shape === "outline" && points.length > 2;
  out.push(new Style({ geometry: closed ? ring(points) : lineOf(points), stroke: halo, zIndex: 118 }));
  out.push(...sideLengths(points, closed, drawn, board.resolution));
  for (const [a, b] of sides(points, closed))
    out.push(
      new Style({
        geometry: new Point(middle(a, b)),
        image: dot(half - 1.5, inks.sheet, inks.water, 1.4),
        zIndex: 119,
      }),
    );
  const whole = wholeHandle(part);
  if (whole) {
    out.push(
      new Style({ geometry: new Point(whole), image: dot(half + 4, inks.sheet, inks.water, 2), zIndex: 121 }),
    );
    out.push(new Style({ geometry: new Point(whole), image: dot(3, inks.water), zIndex: 122 }));
  }
  points.forEach((at, i) => {
    const fixed = part.table === "runs" && (i === 0 || i === points.length - 1);
    out.push(
      new Style({
        geometry: new Point(at),
        image: fixed
          ? dot(half, inks.paper, inks.ink2, 1.4)
          : square(half, board.index === i ? inks.water : inks.sheet, inks.water, 2),
        text: new Text({
          text: cornerLetter(i),
          font: `640 13px ${FACE}`,
          offsetX: half + 9,
          offsetY: -half - 6,
          fill: new Fill({ color: inks.ink }),
          stroke: new Stroke({ color: inks.paper, width: 4 }),
        }),
        zIndex: 125,
      }),
    );
  });
  return out;
}

function sketch(board: Board, drawn: Drawn): Style[] {
  const { inks } = drawn;
  const points = board.next ? [...board.sketch, board.next.at] : board.sketch;
  const out: Style[] = [];
  if (points.length > 1) {
    out.push(
      new Style({
        geometry: lineOf(points),
        stroke: new Stroke({ color: inks.paper, width: 6 }),
        zIndex: 126,
      }),
      new Style({
        geometry: lineOf(points),
        stroke: new Stroke({ color: inks.ink, width: 2.4 }),
        zIndex: 127,
      }),
    );
    if (board.closed && points.length > 2)
      out.push(
        new Style({
          geometry: lineOf([points[points.length - 1] as XY, points[0] as XY]),
          stroke: new Stroke({ color: inks.ink, width: 1.2, lineDash: [4, 5] }),
          zIndex: 127,
        }),
      );
    out.push(...sideLengths(points, false, drawn, board.resolution));
  }
  board.sketch.forEach((at, i) => {
    out.push(
      new Style({
        geometry: new Point(at),
        image: square(i === 0 ? 6 : 4, inks.sheet, inks.ink, 2),
        zIndex: 128,
      }),
    );
  });
  return out;
}

/** The mark of what caught a point: a square on corners, a cross on sides, a right angle, with its line. */
function catching(next: Snapped, board: Board, drawn: Drawn): Style[] {
  const { inks } = drawn;
  const out: Style[] = next.guides.map(
    (line) =>
      new Style({
        geometry: lineOf(line),
        stroke: new Stroke({ color: inks.water, width: 1.4, lineDash: [6, 4] }),
        zIndex: 124,
      }),
  );
  const at = new Point(next.at);
  const size = board.coarse ? 22 : 10;
  if (next.caught === "corner")
    out.push(new Style({ geometry: at, image: square(size, "rgba(0,0,0,0)", inks.water, 2.4), zIndex: 131 }));
  else if (next.caught === "side")
    out.push(
      new Style({
        geometry: at,
        image: new RegularShape({
          points: 4,
          radius: size + 2,
          radius2: 0,
          angle: Math.PI / 4,
          stroke: new Stroke({ color: inks.water, width: 2.4 }),
        }),
        zIndex: 131,
      }),
    );
  else if (next.caught !== "free")
    for (const [from] of next.guides) out.push(...rightAngle(from, next.at, board, inks.water));
  out.push(
    new Style({ geometry: at, image: dot(board.coarse ? 6 : 4, inks.sheet, inks.ink, 2), zIndex: 132 }),
  );
  return out;
}

/** A small square angle at the corner from which the line goes out. */
function rightAngle(from: XY, to: XY, board: Board, color: string): Style[] {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const arm = 12 * board.resolution;
  if (length < 2 * arm) return [];
  const u: XY = [((to[0] - from[0]) / length) * arm, ((to[1] - from[1]) / length) * arm];
  const v: XY = [-u[1], u[0]];
  return [
    new Style({
      geometry: lineOf([
        [from[0] + v[0], from[1] + v[1]],
        [from[0] + u[0] + v[0], from[1] + u[1] + v[1]],
        [from[0] + u[0], from[1] + u[1]],
      ]),
      stroke: new Stroke({ color, width: 2 }),
      zIndex: 131,
    }),
  ];
}

function picture(board: Board, drawn: Drawn): Style[] {
  const { inks } = drawn;
  const out: Style[] = [];
  if (board.placing)
    out.push(
      new Style({
        geometry: ring(cornersOf(board.placing)),
        stroke: new Stroke({ color: inks.water, width: 2, lineDash: [9, 4] }),
        zIndex: 118,
      }),
    );
  const [a, b] = board.marks;
  if (a && b)
    out.push(
      new Style({
        geometry: lineOf([a, b]),
        stroke: new Stroke({ color: inks.water, width: 2.4 }),
        zIndex: 127,
      }),
    );
  board.marks.forEach((at, i) => {
    out.push(
      new Style({
        geometry: new Point(at),
        image: dot(10, inks.sheet, inks.water, 2.4),
        text: new Text({
          text: String(i + 1),
          font: `700 13px ${FACE}`,
          fill: new Fill({ color: inks.ink }),
        }),
        zIndex: 131,
      }),
    );
  });
  return out;
}
