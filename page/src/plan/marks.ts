// How each part looks: the marks of the look, drawn with the map library's styles.
import type { FeatureLike } from "ol/Feature";
import type Geometry from "ol/geom/Geometry";
import LineString from "ol/geom/LineString";
import Point from "ol/geom/Point";
import PolygonGeometry from "ol/geom/Polygon";
import Circle from "ol/style/Circle";
import Fill from "ol/style/Fill";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import { distance, halfway, middle, plus, sides, times, type XY } from "./geometry";
import { buriedColor, type Inks } from "./inks";
import { LETTERS } from "./kinds";
import { showLength, type Unit } from "./lengths";
import type { Part } from "./model";

export const FACE = '"Roofwell Park", system-ui, sans-serif';

export interface Drawn {
  inks: Inks;
  unit: Unit;
  /** A picture lies under the plan: fills would hide it. */
  over: boolean;
}

export function styleOf(drawn: Drawn): (feature: FeatureLike, resolution: number) => Style[] {
  const { inks } = drawn;
  const pen = (color: string, width: number, dash?: number[]) =>
    new Stroke({ color, width: width * inks.heavy, ...(dash ? { lineDash: dash } : {}) });
  const fill = (color: string) => new Fill({ color: drawn.over ? "rgba(0,0,0,0)" : color });
  const stone = stonePattern(inks);
  return (feature, resolution) => {
    const part = feature.get("part") as Part;
    const geometry = feature.getGeometry() as Geometry;
    const wide = feature.get("touched") ? 2.2 : 1;
    switch (part.words) {
      case "house walls":
        return [
          new Style({ geometry, stroke: pen(inks.ink, 2.2 * wide), fill: fill(inks.sheet), zIndex: 20 }),
        ];
      case "roof section":
        return [new Style({ geometry, stroke: pen(inks.ink2, 1 * wide), zIndex: 21 })];
      case "lot line":
        return [
          new Style({
            geometry,
            stroke: pen(inks.ink, 1.4 * wide, [18, 4, 3, 4, 3, 4]),
            ...(part.shape === "outline" ? { fill: fill(inks.lawnsoft) } : {}),
            zIndex: 1,
          }),
        ];
      case "walk":
      case "drive":
      case "street":
        return [new Style({ geometry, stroke: pen(inks.line, 1 * wide), fill: fill(inks.band), zIndex: 5 })];
      case "puddle":
      case "open water":
        return [
          new Style({
            geometry,
            stroke: pen(inks.water, 1.2 * wide, [3, 3]),
            fill: fill(inks.wetsoft),
            zIndex: 4,
          }),
        ];
      case "way of the overflow's water":
        return [new Style({ geometry, stroke: pen(inks.water, 1.2 * wide, [3, 3]), zIndex: 30 })];
      case "leach field":
        return [new Style({ geometry, stroke: pen(inks.ink2, 1.1 * wide, [9, 4]), zIndex: 8 })];
      case "slope crest":
      case "break line":
        return [new Style({ geometry, stroke: pen(inks.line, 1.1 * wide, [6, 3]), zIndex: 6 })];
      case "run of pipe":
        return pipe(part, geometry, resolution, pen, inks, wide);
      case "dry well":
        return part.around.length > 2
          ? [
              new Style({
                geometry: ring(part.around),
                fill: new Fill({ color: drawn.over ? "rgba(0,0,0,0)" : inks.sheet }),
                stroke: pen(inks.ink, 1.6 * wide, [7, 3]),
                zIndex: 24,
              }),
              new Style({ geometry: ring(part.around), fill: new Fill({ color: stone }), zIndex: 25 }),
              new Style({ geometry, image: dot(6, inks.sheet, inks.ink, 1.6 * wide), zIndex: 41 }),
            ]
          : [new Style({ geometry, image: dot(8, inks.sheet, inks.ink, 1.6 * wide), zIndex: 41 })];
      case "catch basin":
        return basin(part, geometry, resolution, inks, wide);
      case "downspout":
        return [new Style({ geometry, image: square(5 * wide, inks.ink), zIndex: 45 })];
      case "wye":
        return [new Style({ geometry, image: dot(4 * wide, inks.ink), zIndex: 44 })];
      case "overflow":
        return [
          new Style({ geometry, image: square(6.5, inks.sheet, inks.ink, 1.5 * wide), zIndex: 46 }),
          new Style({ geometry, image: square(2.6, inks.ink), zIndex: 47 }),
        ];
      case "outlet":
        return [
          new Style({
            geometry,
            image: new RegularShape({
              points: 3,
              radius: 8 * wide,
              rotation: Math.PI / 2 - part.onward,
              fill: new Fill({ color: inks.ink }),
            }),
            zIndex: 46,
          }),
        ];
      case "shot":
      case "soil test":
        return [new Style({ geometry, image: cross(4 * wide, inks.ink2), zIndex: 40 })];
      case "tree":
        return [
          new Style({ geometry, image: leaves(inks, wide), zIndex: 39 }),
          new Style({ geometry, image: dot(1.4, inks.ink), zIndex: 39 }),
        ];
      default:
        if (buriedColor(part.utility) && part.table === "features" && part.entry)
          return [
            new Style({
              geometry,
              stroke: pen(buriedColor(part.utility) ?? inks.ink, 2.4 * wide, [2, 4.4]),
              image: dot(5, inks.sheet, inks.ink, 1.4),
              zIndex: 30,
            }),
          ];
        if (part.words.startsWith("buried line"))
          return [
            new Style({
              geometry,
              stroke: pen(inks.ink, 2 * wide, [2, 4.4]),
              image: dot(5, inks.sheet, inks.ink, 1.4),
              zIndex: 30,
            }),
          ];
        return [
          new Style({
            geometry,
            stroke: pen(inks.ink, 1.4 * wide),
            image: dot(6, inks.sheet, inks.ink, 1.6 * wide),
            ...(part.shape === "outline" ? { fill: fill(inks.sheet) } : {}),
            zIndex: 9,
          }),
        ];
    }
  };
}

/** A pipe from above: two walls, heavier where its course is given. */
function pipe(
  part: Part,
  geometry: Geometry,
  resolution: number,
  pen: (color: string, width: number, dash?: number[]) => Stroke,
  inks: Inks,
  wide: number,
): Style[] {
  const wall = (part.origin === "given" ? 2.2 : 1.3) * wide;
  const inside = Math.max(part.outside / resolution - 2 * wall, 3);
  return [
    new Style({ geometry, stroke: pen(inks.ink, inside + 2 * wall), zIndex: 32 }),
    new Style({ geometry, stroke: pen(inks.sheet, inside), zIndex: 33 }),
  ];
}

function basin(part: Part, geometry: Geometry, resolution: number, inks: Inks, wide: number): Style[] {
  const radius = Math.max(part.outside / 2 / resolution, 6);
  const body =
    part.around.length > 2
      ? [
          new Style({
            geometry: ring(part.around),
            fill: new Fill({ color: inks.sheet }),
            stroke: new Stroke({ color: inks.ink, width: 2 * wide }),
            zIndex: 42,
          }),
        ]
      : [new Style({ geometry, image: dot(radius, inks.sheet, inks.ink, 2 * wide), zIndex: 42 })];
  return [
    ...body,
    ...[-0.45, 0, 0.45].map(
      (share) =>
        new Style({
          geometry,
          image: new RegularShape({
            points: 2,
            radius: radius * Math.sqrt(1 - share * share) * 0.8,
            angle: Math.PI / 2,
            displacement: [0, share * radius],
            stroke: new Stroke({ color: inks.ink, width: 1 }),
          }),
          zIndex: 43,
        }),
    ),
  ];
}

export const ring = (points: XY[]): PolygonGeometry => new PolygonGeometry([[...points, points[0] as XY]]);

export function dot(radius: number, color: string, edge?: string, width = 1): Circle {
  return new Circle({
    radius,
    fill: new Fill({ color }),
    ...(edge ? { stroke: new Stroke({ color: edge, width }) } : {}),
  });
}

export function square(half: number, color: string, edge?: string, width = 1): RegularShape {
  return new RegularShape({
    points: 4,
    radius: half * Math.SQRT2,
    angle: Math.PI / 4,
    fill: new Fill({ color }),
    ...(edge ? { stroke: new Stroke({ color: edge, width }) } : {}),
  });
}

function cross(half: number, color: string): RegularShape {
  return new RegularShape({
    points: 4,
    radius: half * Math.SQRT2,
    radius2: 0,
    angle: Math.PI / 4,
    stroke: new Stroke({ color, width: 1.1 }),
  });
}

function leaves(inks: Inks, wide: number): RegularShape {
  return new RegularShape({
    points: 9,
    radius: 9 * wide,
    radius2: 7 * wide,
    fill: new Fill({ color: inks.sheet }),
    stroke: new Stroke({ color: inks.ink, width: 1 }),
  });
}

/** Crushed stone: a few cells with cut corners, outlines only. */
function stonePattern(inks: Inks): CanvasPattern | string {
  const size = 26;
  const canvas = document.createElement("canvas");
  canvas.width = size;
  canvas.height = size;
  const pen = canvas.getContext("2d");
  if (!pen) return "rgba(0,0,0,0)";
  pen.strokeStyle = inks.line;
  pen.lineWidth = 0.8;
  const cells: XY[][] = [
    [
      [2, 3],
      [9, 1],
      [12, 6],
      [8, 11],
      [2, 9],
    ],
    [
      [15, 2],
      [22, 2],
      [24, 8],
      [18, 11],
      [14, 7],
    ],
    [
      [1, 14],
      [7, 13],
      [11, 17],
      [8, 24],
      [3, 22],
    ],
    [
      [14, 14],
      [20, 13],
      [24, 17],
      [22, 23],
      [15, 24],
      [12, 19],
    ],
  ];
  for (const cell of cells) {
    pen.beginPath();
    for (const [x, y] of cell) pen.lineTo(x, y);
    pen.closePath();
    pen.stroke();
  }
  return pen.createPattern(canvas, "repeat") ?? "rgba(0,0,0,0)";
}

const BOXED = new Set(["downspout", "dry well", "catch basin"]);
/** How far from its place a label stands, pixels right and down, so that the labels of one system keep apart. */
const OFFSETS: Record<string, XY> = {
  shot: [9, 0],
  "run of pipe": [0, 15],
  "dry well": [0, 0],
  "catch basin": [26, 0],
  overflow: [0, 18],
  wye: [14, 12],
};
const BARE = new Set(["wye", "overflow", "outlet"]);

/** The label of a part, at its best place; it goes where there is no room. */
export function labelOf(part: Part, drawn: Drawn, resolution: number): Style[] {
  const { inks } = drawn;
  const boxed = BOXED.has(part.words);
  const ours = boxed || BARE.has(part.words);
  const size = part.words === "dry well" ? 15 : 13;
  let said = part.words === "shot" ? part.says : part.id;
  if (part.words === "run of pipe") said = part.says ? `${part.id}  ${part.says}` : part.id;
  if (part.table === "features") said = `${part.id} ${part.words}`;
  if (part.table === "complaint") said = "puddle";
  if (part.words === "way of the overflow's water" || part.words === "walls of the basin") return [];
  if (!said || part.points.some((p) => !Number.isFinite(p[0] + p[1]))) return [];
  const length = sides(part.points, part.shape === "outline").reduce(
    (sum, [a, b]) => sum + distance(a, b),
    0,
  );
  if (part.shape !== "point" && length / resolution < 60) return [];
  const pit =
    part.words === "dry well" && part.around.length > 2
      ? middle(part.around[0] as XY, part.around[Math.floor(part.around.length / 2)] as XY)
      : null;
  const at =
    part.shape === "point"
      ? (pit ?? (part.points[0] as XY))
      : part.shape === "path"
        ? halfway(part.points)
        : labelPlace(part);
  const [across, down] = OFFSETS[part.words] ?? (part.shape === "point" ? [0, -18] : [0, 0]);
  const style = new Style({
    geometry: new Point(at),
    text: new Text({
      text: said,
      font: `${ours ? 640 : part.words === "shot" ? 400 : 480} ${size}px ${FACE}`,
      fill: new Fill({ color: part.words === "shot" ? inks.ink2 : inks.ink }),
      stroke: new Stroke({ color: inks.paper, width: 3.5 }),
      offsetX: across,
      offsetY: down,
      textAlign: part.words === "shot" ? "left" : "center",
      ...(boxed
        ? {
            backgroundFill: new Fill({ color: inks.sheet }),
            backgroundStroke: new Stroke({ color: inks.ink, width: 1.2 }),
            padding: [0, 3, -1, 3],
          }
        : {}),
      overflow: true,
    }),
    zIndex:
      part.words === "dry well"
        ? 110
        : ours
          ? 100
          : part.words === "run of pipe"
            ? 90
            : part.words === "shot"
              ? 10
              : 50,
  });
  const out = [style];
  const buried = part.words.endsWith(" line") && part.words !== "lot line" && part.words !== "break line";
  if (buried && part.table === "features" && part.shape === "path")
    for (const share of [0.3, 0.75]) {
      const [a, b] = longest(part.points, false);
      out.push(
        new Style({
          geometry: new Point(plus(a, times([b[0] - a[0], b[1] - a[1]], share))),
          text: new Text({
            text: LETTERS[part.utility] ?? "?",
            font: `700 13px ${FACE}`,
            fill: new Fill({ color: inks.ink }),
            stroke: new Stroke({ color: inks.paper, width: 4 }),
          }),
        }),
      );
    }
  return out;
}

function longest(points: XY[], closed: boolean): [XY, XY] {
  const all = sides(points, closed);
  return (
    all.sort((s, t) => distance(t[0], t[1]) - distance(s[0], s[1]))[0] ?? [points[0] as XY, points[0] as XY]
  );
}

/** Lot lines are named on their longest side, everything else inside. */
function labelPlace(part: Part): XY {
  if (part.words === "lot line") return middle(...longest(part.points, true));
  const inside = ring(part.points).getInteriorPoint().getCoordinates();
  return [inside[0] as number, inside[1] as number];
}

/** Lengths along the sides of what is worked on. */
export function sideLengths(points: XY[], closed: boolean, drawn: Drawn, resolution: number): Style[] {
  return sides(points, closed)
    .filter(([a, b]) => distance(a, b) / resolution > 34)
    .map(([a, b]) => {
      const turned = -Math.atan2(b[1] - a[1], b[0] - a[0]);
      const upright = Math.abs(turned) > Math.PI / 2 + 1e-9 ? turned + Math.PI : turned;
      return new Style({
        geometry: new Point(middle(a, b)),
        text: new Text({
          text: showLength(distance(a, b), drawn.unit),
          font: `560 13px ${FACE}`,
          rotation: upright,
          offsetY: -12,
          rotateWithView: true,
          fill: new Fill({ color: drawn.inks.ink }),
          stroke: new Stroke({ color: drawn.inks.paper, width: 4 }),
        }),
        zIndex: 130,
      });
    });
}

/** The letter of a corner: a, b, c and on, past z with a number. */
export const cornerLetter = (index: number): string =>
  `${String.fromCharCode(97 + (index % 26))}${index >= 26 ? Math.floor(index / 26) : ""}`;

export const lineOf = (points: XY[]): LineString => new LineString(points);
