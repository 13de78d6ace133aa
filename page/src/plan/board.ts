// The board that the plan lies on: view, layers, selection, drawing. It knows the map library and no React.
import Feature from "ol/Feature";
import type Geometry from "ol/geom/Geometry";
import Point from "ol/geom/Point";
import DragPan from "ol/interaction/DragPan";
import MouseWheelZoom from "ol/interaction/MouseWheelZoom";
import PinchZoom from "ol/interaction/PinchZoom";
import Layer from "ol/layer/Layer";
import VectorLayer from "ol/layer/Vector";
import OlMap from "ol/Map";
import type MapBrowserEvent from "ol/MapBrowserEvent";
import Projection from "ol/proj/Projection";
import VectorSource from "ol/source/Vector";
import View from "ol/View";
import { distance, type XY } from "./geometry";
import { Hand } from "./hand";
import { inks } from "./inks";
import type { Kind } from "./kinds";
import { METERS, type Unit } from "./lengths";
import { type Drawn, labelOf, lineOf, ring, styleOf } from "./marks";
import type { Part } from "./model";
import type { Placing } from "./picture";
import { type Anchor, anchorsOf, GRIDS, mainDirection, type Scene, type Snapped, snap } from "./snap";
import { overlay } from "./working";

export type Tool = { kind: "hand" } | { kind: "draw"; what: Kind } | { kind: "picture" };

/** What the board tells whoever owns it. */
export interface Told {
  select(key: string | null, index: number | null): void;
  /** Points of a part, or all of it (index null), were moved and let go. */
  moved(key: string, index: number | null, by: XY): void;
  /** The parts as they would be after such a move. */
  /** The parts with one of them moved: where the drag has come to. */
  preview(key: string, index: number | null, by: XY): Part[];
  /** A drag goes on. */
  dragged(key: string, index: number | null, by: XY): void;
  /** What was dragged was let go where it had been. */
  putBack(): void;
  inserted(key: string, after: number, at: XY): void;
  sketched(points: XY[], next: Snapped | null): void;
  finished(points: XY[]): void;
  refused(why: string): void;
  touched(at: XY): void;
  pictureMoved(placing: Placing): void;
}

const FAR = 20000;

export class Board {
  readonly map: OlMap;
  parts: Part[] = [];
  selected: string | null = null;
  index: number | null = null;
  tool: Tool = { kind: "hand" };
  sketch: XY[] = [];
  next: Snapped | null = null;
  /** Places touched on the picture, to scale it by. */
  marks: XY[] = [];
  snapping = true;
  squares = true;
  placing: Placing | null = null;
  coarse = matchMedia("(pointer: coarse)").matches;
  /** Parts as they are drawn, and how they are found while something is dragged. */
  private shown: Part[] = [];
  private while: (() => Part[]) | null = null;
  private picture: HTMLImageElement | null = null;
  private readonly hand: Hand;
  private readonly lower = new VectorSource<Feature<Geometry>>();
  private readonly labels = new VectorSource<Feature<Geometry>>();
  private readonly upper = new VectorSource<Feature<Geometry>>();
  private readonly layers: VectorLayer[];
  private readonly pictureLayer: Layer;
  private readonly watch: MutationObserver;
  private readonly room: ResizeObserver;
  private fitted = false;

  constructor(
    readonly host: HTMLElement,
    readonly unit: Unit,
    readonly told: Told,
    onView: (unitsPerPixel: number) => void,
  ) {
    const extent = [-FAR, -FAR, FAR, FAR];
    const flat = new Projection({
      code: `ROOFWELL:${unit}`,
      units: unit,
      metersPerUnit: METERS[unit],
      extent,
      worldExtent: extent,
      global: false,
    });
    const finest = unit === "ft" ? 0.004 : 0.0012;
    const view = new View({
      projection: flat,
      center: [40, 40],
      resolution: 0.2,
      minResolution: finest,
      maxResolution: finest * 800,
      constrainResolution: false,
      enableRotation: false,
    });
    this.pictureLayer = new Layer({
      render: (frame) => this.renderPicture(frame.coordinateToPixelTransform),
    });
    this.layers = [
      new VectorLayer({ source: this.lower, updateWhileInteracting: true, updateWhileAnimating: true }),
      new VectorLayer({ source: this.labels, declutter: true, updateWhileInteracting: true }),
      new VectorLayer({ source: this.upper, updateWhileInteracting: true, updateWhileAnimating: true }),
    ];
    const hand = new Hand(this);
    this.hand = hand;
    this.map = new OlMap({
      view,
      controls: [],
      layers: [this.pictureLayer, ...this.layers],
      moveTolerance: this.coarse ? 8 : 3,
      interactions: [
        // one finger draws and drags; two fingers, or the mouse on empty paper, move the paper
        new DragPan({ condition: (event) => hand.pans(event) }),
        new PinchZoom(),
        new MouseWheelZoom(),
        hand,
      ],
    });
    this.map.on("click", (event) => hand.click(event as MapBrowserEvent<PointerEvent>));
    view.on("change:resolution", () => onView(this.resolution));
    this.map.on("change:size", () => {
      if (!this.fitted && this.parts.length) this.fit();
      onView(this.resolution);
    });
    // only once it has room: the library complains otherwise
    this.room = new ResizeObserver(() => {
      if (host.clientWidth && host.clientHeight && !this.map.getTarget()) this.map.setTarget(host);
    });
    this.room.observe(host);
    this.watch = new MutationObserver(() => this.restyle());
    this.watch.observe(document.documentElement, { attributes: true, attributeFilter: ["data-look"] });
    void document.fonts?.ready.then(() => this.restyle());
    this.restyle();
  }

  get resolution(): number {
    return this.map.getView().getResolution() ?? 1;
  }

  /** How near a pointer must come, in units of the plan. */
  get tolerance(): number {
    return (this.coarse ? 24 : 12) * this.resolution;
  }

  /** How near a corner or side must be to catch a point. */
  get catching(): number {
    return (this.coarse ? 14 : 10) * this.resolution;
  }

  get drawn(): Drawn {
    return { inks: inks(), unit: this.unit, over: this.placing !== null };
  }

  private restyle(): void {
    const drawn = this.drawn;
    const [lower, labels] = this.layers;
    lower?.setStyle(styleOf(drawn));
    labels?.setStyle((feature, resolution) => labelOf(feature.get("part") as Part, drawn, resolution));
    this.redraw();
  }

  show(parts: Part[]): void {
    this.parts = parts;
    this.paint(this.while?.() ?? parts);
    if (!this.fitted && parts.length && this.map.getSize()) this.fit();
  }

  /** Draw parts as they are while one is dragged, until null; asked again whenever the answers bring new ones. */
  showWhile(parts: (() => Part[]) | null): void {
    this.while = parts;
    this.paint(parts?.() ?? this.parts);
  }

  /** Put back what is being dragged; false where nothing is. */
  giveUp(): boolean {
    return this.hand.giveUp();
  }

  /** What was dragged is let go: it stands as it is drawn until its edit comes back. */
  letGo(): void {
    this.while = null;
  }

  private paint(parts: Part[]): void {
    this.shown = parts;
    this.lower.clear(true);
    this.labels.clear(true);
    const lower: Feature<Geometry>[] = [];
    const labels: Feature<Geometry>[] = [];
    for (const part of parts) {
      const points = part.points.filter((p) => Number.isFinite(p[0]) && Number.isFinite(p[1]));
      const [first] = points;
      if (!first) continue;
      const shape =
        part.shape === "outline" && points.length > 2
          ? ring(points)
          : points.length > 1
            ? lineOf(points)
            : new Point(first);
      lower.push(new Feature({ geometry: shape, part, touched: part.key === this.selected }));
      labels.push(new Feature({ geometry: shape, part }));
    }
    this.lower.addFeatures(lower);
    this.labels.addFeatures(labels);
    this.redraw();
  }

  /** Draw again what is worked on: handles, sketch, marks. */
  redraw(): void {
    this.upper.clear(true);
    this.upper.addFeatures(overlay(this));
  }

  part(key: string | null): Part | undefined {
    return this.shown.find((one) => one.key === key);
  }

  select(key: string | null, index: number | null): void {
    const changed = key !== this.selected;
    this.selected = key;
    this.index = index;
    if (changed) this.paint(this.shown);
    else this.redraw();
  }

  use(tool: Tool): void {
    this.tool = tool;
    this.sketch = [];
    this.next = null;
    this.marks = [];
    this.host.dataset.tool = tool.kind;
    this.redraw();
  }

  // --- drawing ---

  get closed(): boolean {
    return this.tool.kind === "draw" && this.tool.what.shape === "outline";
  }

  /** Where a place under the pointer belongs. */
  caught(cursor: XY, free = false): Snapped {
    if (!this.snapping || free) return snap(cursor, EMPTY, this.anchors(), this.catching, GRIDS[this.unit]);
    return snap(cursor, this.scene(), this.anchors(), this.catching, GRIDS[this.unit]);
  }

  private anchors(): Anchor[] {
    return this.squares ? anchorsOf(this.sketch, this.houseDirection()) : [];
  }

  private houseDirection(): number {
    return mainDirection(this.parts.find((one) => one.words === "house walls")?.points ?? []);
  }

  /** Corners and sides that catch; those of some parts left out. */
  scene(without: (part: Part) => boolean = () => false): Scene {
    const scene: Scene = { corners: [], sides: [] };
    for (const part of this.parts) {
      if (without(part) || part.unread.length) continue;
      for (const at of part.points) scene.corners.push({ at, part: part.key });
      if (part.shape === "point") continue;
      const closed = part.shape === "outline";
      part.points.forEach((a, i) => {
        const b = part.points[(i + 1) % part.points.length];
        if (b && (closed || i + 1 < part.points.length)) scene.sides.push({ a, b, part: part.key });
      });
    }
    const [first] = this.sketch;
    if (first && this.sketch.length > 2 && this.closed) scene.corners.push({ at: first, part: "sketch" });
    return scene;
  }

  point(next: Snapped | null): void {
    this.next = next;
    this.redraw();
    this.told.sketched(this.sketch, next);
  }

  /** Put the next corner of what is drawn. */
  put(at: XY): void {
    if (this.tool.kind !== "draw") return;
    const { what } = this.tool;
    if (what.shape === "point") {
      this.told.finished([at]);
      return;
    }
    const [first] = this.sketch;
    const last = this.sketch[this.sketch.length - 1];
    if (first && this.closed && this.sketch.length > 2 && distance(first, at) < 1e-6) {
      this.finish();
      return;
    }
    if (last && distance(last, at) < 1e-6) {
      if (this.sketch.length > 1) this.finish();
      return;
    }
    if (what.key === "runs") {
      const on = this.parts.find((one) => CARRIER.has(one.words) && distance(one.points[0] as XY, at) < 1e-6);
      if (!first && !on) {
        this.told.refused("A run of pipe begins at a downspout, wye, basin or well: touch one of them.");
        return;
      }
      this.sketch = [...this.sketch, at];
      if (first && on) {
        this.finish();
        return;
      }
    } else this.sketch = [...this.sketch, at];
    this.next = null;
    this.redraw();
    this.told.sketched(this.sketch, null);
  }

  finish(): void {
    if (this.tool.kind !== "draw") return;
    this.told.finished(this.sketch);
  }

  takeBack(): void {
    this.sketch = this.sketch.slice(0, -1);
    this.next = null;
    this.redraw();
    this.told.sketched(this.sketch, null);
  }

  // --- the picture ---

  layPicture(image: HTMLImageElement | null, placing: Placing | null): void {
    const was = this.placing !== null;
    this.picture = image;
    this.placing = placing;
    if (was !== (placing !== null)) this.restyle();
    this.pictureLayer.changed();
    this.redraw();
  }

  private renderPicture(toPixel: number[]): HTMLElement {
    const frame = this.frame;
    const { picture, placing } = this;
    if (!picture || !placing) {
      frame.replaceChildren();
      return frame;
    }
    if (picture.parentElement !== frame) frame.replaceChildren(picture);
    const [x, y] = placing.at;
    const left = (toPixel[0] ?? 1) * x + (toPixel[2] ?? 0) * y + (toPixel[4] ?? 0);
    const top = (toPixel[1] ?? 0) * x + (toPixel[3] ?? 1) * y + (toPixel[5] ?? 0);
    const size = placing.scale / this.resolution;
    picture.style.opacity = String(placing.strength);
    picture.style.transform = `translate(${left}px,${top}px) rotate(${-placing.turned}rad) scale(${size})`;
    return frame;
  }

  private readonly frame = (() => {
    const frame = document.createElement("div");
    frame.className = "plan-picture";
    return frame;
  })();

  // --- the view ---

  fit(): void {
    const own = this.parts.filter((part) => part.words !== "neighbor's building" && part.words !== "street");
    const all = (own.length ? own : this.parts)
      .flatMap((part) => part.points)
      .filter((p) => Number.isFinite(p[0] + p[1]));
    this.map.updateSize(); // a drawing shown or hidden just now has changed it
    const size = this.map.getSize();
    if (!size?.[0] || !size[1]) return;
    this.fitted = true;
    if (all.length === 0) return;
    const xs = all.map((p) => p[0]);
    const ys = all.map((p) => p[1]);
    // one part alone, or parts in a row, are shown with some lawn around them
    const air = this.unit === "ft" ? 10 : 3;
    const box = [Math.min(...xs) - air, Math.min(...ys) - air, Math.max(...xs) + air, Math.max(...ys) + air];
    const room = this.coarse ? 14 : 18;
    this.map.getView().fit(box, { size, padding: [room, room, room + 14, room] });
  }

  zoom(times: number): void {
    this.map.getView().animate({ resolution: this.resolution / times, duration: 120 });
  }

  pan(right: number, up: number): void {
    const view = this.map.getView();
    const center = view.getCenter() ?? [0, 0];
    const step = 60 * this.resolution;
    view.setCenter([(center[0] ?? 0) + right * step, (center[1] ?? 0) + up * step]);
  }

  get center(): XY {
    const center = this.map.getView().getCenter() ?? [0, 0];
    return [center[0] ?? 0, center[1] ?? 0];
  }

  /** Where a place of the plan stands on the page, CSS pixels; for who aims at it. */
  pixel(at: XY): XY {
    this.map.updateSize();
    this.map.renderSync(); // the library reckons by the last frame drawn
    const box = this.host.getBoundingClientRect();
    const pixel = this.map.getPixelFromCoordinate(at) ?? [0, 0];
    return [box.left + (pixel[0] ?? 0), box.top + (pixel[1] ?? 0)];
  }

  destroy(): void {
    this.watch.disconnect();
    this.room.disconnect();
    this.map.setTarget(undefined);
    this.map.dispose();
  }
}

const EMPTY: Scene = { corners: [], sides: [] };
const CARRIER = new Set(["downspout", "wye", "catch basin", "dry well", "outlet"]);
