// What fingers and the mouse do on the board: take hold, drag, draw, move the picture.

import PointerInteraction from "ol/interaction/Pointer";
import type MapBrowserEvent from "ol/MapBrowserEvent";
import type { Board } from "./board";
import { distance, footOnSide, middle, minus, sides, type XY } from "./geometry";
import type { Part } from "./model";
import { shifted } from "./picture";
import { anchorsAround, GRIDS, type Snapped, snap } from "./snap";
import { wholeHandle } from "./working";

type Event = MapBrowserEvent<PointerEvent>;
type Hold =
  | { kind: "point"; part: Part; index: number; off: XY; by: XY }
  | { kind: "new"; part: Part; index: number; off: XY; at: XY }
  | { kind: "whole"; part: Part; from: XY; by: XY }
  | { kind: "sketch" }
  | { kind: "picture"; last: XY };

const TWICE_MS = 350;

export class Hand extends PointerInteraction {
  private hold: Hold | null = null;
  private dragged = false;
  private last = { at: 0, pixel: [0, 0] as XY };

  constructor(private readonly board: Board) {
    super();
  }

  /** Whether the paper moves with this pointer: two fingers always; one where it holds nothing. */
  pans(event: { originalEvent: unknown; activePointers?: PointerEvent[] | undefined }): boolean {
    if ((event.activePointers?.length ?? 0) > 1) return true;
    const pointer = event.originalEvent as PointerEvent;
    if (pointer.button !== 0) return pointer.button === 1;
    if (this.board.tool.kind === "hand") return true;
    return pointer.pointerType === "mouse" && this.board.tool.kind === "draw";
  }

  override handleEvent(event: MapBrowserEvent<PointerEvent>): boolean {
    // a second finger: what the first one held is let go where it was, and both move the paper
    if (event.type === "pointerdown" && (event.activePointers?.length ?? 0) > 1) {
      this.giveUp();
      return true;
    }
    return super.handleEvent(event);
  }

  override handleDownEvent(event: Event): boolean {
    const { board } = this;
    const pointer = event.originalEvent;
    this.dragged = false;
    if (pointer.button !== 0) return false;
    board.coarse = pointer.pointerType !== "mouse";
    const at = place(event);
    if (board.tool.kind === "picture") {
      this.hold = { kind: "picture", last: at };
      return true;
    }
    if (board.tool.kind === "draw") {
      if (pointer.pointerType === "mouse") return false;
      this.hold = { kind: "sketch" };
      board.point(board.caught(at, pointer.altKey));
      return true;
    }
    this.hold = this.takenHold(at);
    return this.hold !== null;
  }

  override handleMoveEvent(event: Event): void {
    const { board } = this;
    if (board.tool.kind === "draw" && event.originalEvent.pointerType === "mouse") {
      board.coarse = false;
      board.point(board.caught(place(event), event.originalEvent.altKey));
    }
  }

  override handleDragEvent(event: Event): void {
    const { board, hold } = this;
    if (!hold) return;
    this.dragged = true;
    const at = place(event);
    const free = event.originalEvent.altKey;
    if (hold.kind === "sketch") board.point(board.caught(at, free));
    else if (hold.kind === "picture") {
      if (board.placing) board.told.pictureMoved(shifted(board.placing, minus(at, hold.last)));
      hold.last = at;
    } else if (hold.kind === "whole") {
      const first = hold.part.points[0] as XY;
      const grid = GRIDS[board.unit].free;
      const to = snap([first[0] + at[0] - hold.from[0], first[1] + at[1] - hold.from[1]], NOTHING, [], 0, {
        ...GRIDS[board.unit],
        free: grid,
      });
      hold.by = minus(to.at, first);
      this.drag(hold.part, null, hold);
    } else if (hold.kind === "point") {
      const to = this.moving(hold.part, hold.index, minus(at, hold.off), free);
      hold.by = minus(to.at, hold.part.points[hold.index] as XY);
      board.next = to;
      board.told.sketched([], to);
      this.drag(hold.part, hold.part.shape === "point" ? null : hold.index, hold);
    } else {
      const to = this.moving(hold.part, hold.index, at, free);
      hold.at = to.at;
      board.next = to;
      board.redraw();
    }
  }

  override handleUpEvent(event: Event): boolean {
    const { board, hold, dragged } = this;
    this.hold = null;
    if (!hold) return false;
    if (hold.kind === "point" || hold.kind === "whole") board.letGo();
    if (hold.kind === "sketch") {
      const next = board.next ?? board.caught(place(event));
      this.place(next, event.pixel as XY);
      return false;
    }
    board.next = null;
    board.told.sketched([], null);
    if (!dragged) return false;
    if (hold.kind === "picture") return false;
    if (!this.onSheet(event)) this.putBack();
    else if (hold.kind === "new") board.told.inserted(hold.part.key, hold.index, hold.at);
    else if (Math.hypot(...hold.by) > 1e-9) {
      const index = hold.kind === "whole" || hold.part.shape === "point" ? null : hold.index;
      board.told.select(hold.part.key, index);
      board.told.moved(hold.part.key, index, hold.by);
    } else this.putBack();
    return false;
  }

  private drag(part: Part, index: number | null, hold: { by: XY }): void {
    const { board } = this;
    board.showWhile(() => board.told.preview(part.key, index, hold.by));
    board.told.dragged(part.key, index, hold.by);
  }

  private putBack(): void {
    this.board.showWhile(null);
    this.board.told.putBack();
  }

  /** Off the sheet nobody sees where it would lie. */
  private onSheet({ pixel: [x = 0, y = 0] }: Event): boolean {
    const [width = 0, height = 0] = this.board.map.getSize() ?? [];
    return x >= 0 && y >= 0 && x <= width && y <= height;
  }

  /** Put back what is held, and hold nothing; false where nothing was. */
  giveUp(): boolean {
    const held = this.hold !== null;
    this.drop();
    this.handlingDownUpSequence = false;
    return held;
  }

  private drop(): void {
    const was = this.hold;
    this.hold = null;
    this.board.next = null;
    if (was && was.kind !== "sketch" && was.kind !== "picture") this.putBack();
    else this.board.redraw();
  }

  /** A press without a drag. */
  click(event: Event): void {
    const { board } = this;
    const at = place(event);
    if (board.tool.kind === "draw") {
      if (event.originalEvent.pointerType === "mouse")
        this.place(board.caught(at, event.originalEvent.altKey), event.pixel as XY);
    } else if (board.tool.kind === "picture") board.told.touched(at);
    else {
      const found = this.under(at);
      board.told.select(found?.part.key ?? null, found?.index ?? null);
    }
  }

  private place(next: Snapped, pixel: XY): void {
    const { board } = this;
    const now = Date.now();
    const twice = now - this.last.at < TWICE_MS && distance(pixel, this.last.pixel) < 12;
    this.last = { at: now, pixel };
    const last = board.sketch[board.sketch.length - 1];
    const same = last !== undefined && distance(last, next.at) <= board.tolerance;
    if (twice && same && board.sketch.length > 1) board.finish();
    else board.put(next.at);
  }

  /** Where a moved point belongs; the part itself and what hangs on it do not catch it. */
  private moving(part: Part, index: number, at: XY, free: boolean): Snapped {
    const { board } = this;
    const hangs = (one: Part) =>
      one.key === part.key ||
      (part.shape === "point" && one.words in BEHIND) ||
      (one.table === "runs" && (one.from === part.id || one.to === part.id)) ||
      (one.table === "overflows" && distance(one.points[0] as XY, part.points[0] as XY) < 0.05);
    const scene = board.snapping && !free ? board.scene(hangs) : NOTHING;
    const anchors =
      board.squares && !free && part.shape !== "point"
        ? anchorsAround(part.points, index, part.shape === "outline")
        : [];
    return snap(at, scene, anchors, board.catching, GRIDS[board.unit]);
  }

  /** What a press takes hold of: a corner or side of the selected part, else a part that is a point. */
  private takenHold(at: XY): Hold | null {
    const { board } = this;
    const near = board.tolerance;
    const part = board.part(board.selected);
    if (part && part.shape !== "point") {
      const ends = part.table === "runs" ? [0, part.points.length - 1] : [];
      const index = nearest(part.points, at, near, ends);
      if (index !== null)
        return { kind: "point", part, index, off: minus(at, part.points[index] as XY), by: [0, 0] };
      const whole = wholeHandle(part);
      if (whole && distance(whole, at) <= near) return { kind: "whole", part, from: at, by: [0, 0] };
      const all = sides(part.points, part.shape === "outline");
      const side = nearest(
        all.map(([a, b]) => middle(a, b)),
        at,
        near,
        [],
      );
      if (side !== null) return { kind: "new", part, index: side, off: [0, 0], at };
    }
    const [one] = this.pointsAt(at);
    if (!one || (one.words === "shot" && board.selected !== one.key)) return null;
    return { kind: "point", part: one, index: 0, off: minus(at, one.points[0] as XY), by: [0, 0] };
  }

  /** Parts that are points near a press, the one that is meant most likely first. */
  private pointsAt(at: XY): Part[] {
    const { board } = this;
    const near = board.tolerance;
    const score = (part: Part) => {
      const away = distance(part.points[0] as XY, at);
      return part.key === board.selected ? away - near : away + (BEHIND[part.words] ?? 0) * near;
    };
    return board.parts
      .filter(
        (one) => one.shape === "point" && !one.unread.length && distance(one.points[0] as XY, at) <= near,
      )
      .sort((a, b) => score(a) - score(b));
  }

  /** The part under a press, with its corner where one is meant. */
  private under(at: XY): { part: Part; index: number | null } | null {
    const { board } = this;
    const near = board.tolerance;
    const selected = board.part(board.selected);
    if (selected && selected.shape !== "point") {
      const index = nearest(selected.points, at, near, []);
      if (index !== null) return { part: selected, index };
    }
    const [first, ...others] = this.pointsAt(at);
    if (first) {
      // a second press goes on to what stands at the very same place
      const same = others.find((one) => distance(one.points[0] as XY, first.points[0] as XY) < 0.05);
      return { part: first.key === board.selected && same ? same : first, index: null };
    }
    let best: { part: Part; away: number } | null = null;
    for (const part of board.parts) {
      const edge = part.around.length > 2 ? part.around : part.points;
      for (const [a, b] of sides(edge, part.shape === "outline" || part.around.length > 2)) {
        const away = distance(at, footOnSide(at, a, b));
        if (away <= near && (!best || away < best.away)) best = { part, away };
      }
    }
    if (best) return { part: best.part, index: null };
    const holding = board.parts
      .filter((part) =>
        inside(at, part.around.length > 2 ? part.around : part.shape === "outline" ? part.points : []),
      )
      .sort((a, b) => spread(a) - spread(b))[0];
    return holding && holding.words !== "lot line" ? { part: holding, index: null } : null;
  }
}

/** What lets others go first where several stand close together, in shares of a finger's width. */
const BEHIND: Record<string, number> = { shot: 0.6, "soil test": 0.6, tree: 0.3, overflow: 0.3 };
const NOTHING = { corners: [], sides: [] };

function place(event: Event): XY {
  const [x, y] = event.coordinate;
  return [x ?? 0, y ?? 0];
}

function nearest(points: XY[], at: XY, near: number, without: number[]): number | null {
  let best: number | null = null;
  let least = near;
  points.forEach((point, i) => {
    const away = distance(point, at);
    if (!(away <= least) || without.includes(i)) return;
    least = away;
    best = i;
  });
  return best;
}

function inside(at: XY, outline: XY[]): boolean {
  let within = false;
  for (const [a, b] of sides(outline, true))
    if (a[1] > at[1] !== b[1] > at[1] && at[0] < ((b[0] - a[0]) * (at[1] - a[1])) / (b[1] - a[1]) + a[0])
      within = !within;
  return within;
}

function spread(part: Part): number {
  const points = part.around.length > 2 ? part.around : part.points;
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  return (Math.max(...xs) - Math.min(...xs)) * (Math.max(...ys) - Math.min(...ys));
}
