// The plan: a drawing that can be drawn on, the part that is chosen, and all of it as a table.
import { useCallback, useEffect, useMemo, useRef, useState, useSyncExternalStore } from "react";
import type { Edit, Leaf } from "../api";
import { Dot } from "../dot";
import { at, join } from "../paths";
import type { Work } from "../work";
import { Board, type Tool } from "./board";
import { Chosen, type Doing, nameOf } from "./chosen";
import { sideEdits, typedEdits, withCorner, withoutCorner } from "./doing";
import { North, Scale, Short } from "./frame";
import { crossesItself, distance, plus, type XY } from "./geometry";
import { trimmed, type Unit } from "./lengths";
import {
  added,
  after,
  bareUnit,
  leftToDesign,
  madeGiven,
  moved,
  type Part,
  partsOf,
  replaced,
  takenOut,
  unitOf,
} from "./model";
import { leveled, scaled } from "./picture";
import { PlanSection } from "./section";
import { GRIDS, rounded, type Snapped } from "./snap";
import { CAUGHT, DrawStrip, PictureStrip } from "./strip";
import { PlanTable } from "./table";
import { Tools } from "./tools";
import { usePicture } from "./use-picture";

const STEP: Record<Unit, { small: number; large: number }> = {
  ft: { small: 0.1, large: 1 },
  m: { small: 0.05, large: 0.5 },
};
const ARROWS: Record<string, XY> = {
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowLeft: [-1, 0],
  ArrowDown: [0, -1],
};

export default function Plan({ work }: { work: Work }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const { values, answered } = state;
  const unit = unitOf(values);
  const parts = useMemo(() => partsOf(values, answered?.parts ?? []), [values, answered]);
  const host = useRef<HTMLDivElement>(null);
  const side = useRef<HTMLDivElement>(null);
  const [board, setBoard] = useState<Board | null>(null);
  const [seen, setSeen] = useState(0.2);
  const [chosen, setChosen] = useState<{ key: string | null; index: number | null }>({
    key: null,
    index: null,
  });
  const [tool, setTool] = useState<Tool>({ kind: "hand" });
  const [sketch, setSketch] = useState<{ points: XY[]; next: Snapped | null }>({ points: [], next: null });
  const [refused, setRefused] = useState("");
  const lengthField = useRef<HTMLInputElement>(null);
  const [catching, setCatching] = useState(true);
  const [squares, setSquares] = useState(true);
  const [asTable, setAsTable] = useState(false);
  const [marks, setMarks] = useState<XY[]>([]);
  const { placing, image, trouble, place, take, away } = usePicture(state.opened.summary.id, work.files);

  const change = useCallback((edits: Edit[], words: string) => work.change(edits, words), [work]);
  const now = useRef({ parts, values, unit, tool, placing, chosen });
  now.current = { parts, values, unit, tool, placing, chosen };
  const choose = useCallback((key: string | null, index: number | null) => setChosen({ key, index }), []);
  const use = useCallback((next: Tool) => {
    setTool(next);
    setSketch({ points: [], next: null });
    setRefused("");
    setMarks([]);
  }, []);
  const find = (key: string | null): Part | undefined => now.current.parts.find((one) => one.key === key);

  const finish = useCallback(
    (points: XY[]) => {
      const { tool: drawing, values: here, parts: there } = now.current;
      if (drawing.kind !== "draw") return;
      const closed = drawing.what.shape === "outline";
      if (closed && crossesItself(points, true)) {
        setRefused("The sides cross each other: take a corner back.");
        return;
      }
      if (drawing.what.key === "runs" && !there.some((one) => stands(one, points[points.length - 1]))) {
        setRefused("A run of pipe ends at a wye, basin, well or outlet: touch it.");
        return;
      }
      const made = added(here, there, drawing.what, points);
      if (!made) {
        setRefused(closed ? "An outline has at least three corners." : "A path has at least two points.");
        return;
      }
      change(made.edits, `draw ${drawing.what.words}`);
      setChosen({ key: made.key, index: null });
      use({ kind: "hand" });
    },
    [change, use],
  );

  // The answers follow a drag, and with them the parts that are designed: what is dragged counts from where it was.
  const dragFrom = useRef<{ parts: Part[]; values: Leaf } | null>(null);
  const dragged = (key: string, index: number | null, by: XY) => {
    dragFrom.current ??= { parts: now.current.parts, values: now.current.values };
    const from = dragFrom.current;
    const part = from.parts.find((one) => one.key === key);
    return { from, part, edits: part ? moved(from.values, from.parts, part, index, by) : [] };
  };

  // One board for as long as the drawing is shown; it tells what was done, and is told what there is.
  useEffect(() => {
    if (!host.current || asTable) return;
    const made = new Board(
      host.current,
      unit,
      {
        select: (key, index) => {
          choose(key, index);
          if (key) side.current?.scrollTo({ top: 0 });
        },
        moved: (key, index, by) => {
          const { part, edits } = dragged(key, index, by);
          dragFrom.current = null;
          if (part) change(edits, `move ${nameOf(part)}`);
        },
        preview: (key, index, by) => {
          const { from, edits } = dragged(key, index, by);
          return partsOf(after(from.values, edits), work.state.answered?.parts ?? []);
        },
        dragged: (key, index, by) => work.follow(dragged(key, index, by).edits),
        putBack: () => {
          dragFrom.current = null;
          work.follow(null);
        },
        inserted: (key, place, where) => {
          const part = find(key);
          if (!part) return;
          change(
            replaced(now.current.values, now.current.parts, part, withCorner(part, place, where)),
            `corner in ${nameOf(part)}`,
          );
          setChosen({ key, index: place + 1 });
        },
        sketched: (points, next) => {
          setSketch({ points, next });
          if (points.length) setRefused("");
        },
        finished: finish,
        refused: setRefused,
        touched: (where) => setMarks((two) => (two.length === 1 ? [...two, where] : [where])),
        pictureMoved: (next) => {
          place(next);
          setMarks([]);
        },
      },
      setSeen,
    );
    Object.assign(host.current, { board: made });
    setBoard(made);
    return () => {
      setBoard(null);
      made.destroy();
    };
  }, [unit, asTable]);
  useEffect(() => board?.show(parts), [board, parts]);
  useEffect(() => board?.select(chosen.key, chosen.index), [board, chosen]);
  useEffect(() => board?.use(tool), [board, tool]);
  useEffect(() => {
    if (!board) return;
    board.snapping = catching;
    board.squares = squares;
  }, [board, catching, squares]);
  useEffect(() => board?.layPicture(image, placing), [board, image, placing]);
  useEffect(() => {
    if (!board) return;
    board.marks = marks;
    board.redraw();
  }, [board, marks]);

  const part = parts.find((one) => one.key === chosen.key);
  const doing: Doing = {
    choose,
    typed: (one, index, axis, value, text) =>
      change(typedEdits(values, parts, one, index, axis, value, text, unit), `place ${nameOf(one)}`),
    level: (one, leaf, text) => {
      const bare = bareUnit(values, one.entry);
      const plain = /^[-+]?\d+(\.\d+)?$/.test(text);
      change(
        [{ path: join(one.entry, leaf), value: plain ? (bare ? Number(text) : `${text} ${unit}`) : text }],
        `${leaf} of ${nameOf(one)}`,
      );
    },
    sideLength: (one, index, length) =>
      change(sideEdits(values, parts, one, index, length), `side of ${nameOf(one)}`),
    keep: (one) => change(madeGiven(values, parts, one, one.points), `keep ${nameOf(one)}`),
    leave: (one) => change(leftToDesign(values, one), `leave ${nameOf(one)} to Roofwell`),
    takeOut: (one) => {
      change(takenOut(one), `take ${nameOf(one)} out`);
      choose(null, null);
    },
    addCorner: (one, place) => {
      change(replaced(values, parts, one, withCorner(one, place)), `corner in ${nameOf(one)}`);
      choose(one.key, place + 1);
    },
    takeCorner: (one, index) => {
      const least = one.shape === "outline" ? 3 : 2;
      if (one.points.length <= least) return;
      change(replaced(values, parts, one, withoutCorner(one, index)), `corner of ${nameOf(one)}`);
      choose(one.key, null);
    },
  };

  const keys = (event: React.KeyboardEvent) => {
    const target = event.target as HTMLElement;
    if (target.matches("input, select, textarea") || event.ctrlKey || event.metaKey) return;
    const arrow = ARROWS[event.key];
    const onBoard = target === host.current;
    if (tool.kind === "draw" && board && onBoard) {
      if (arrow) {
        const step = event.shiftKey ? 10 : 1;
        const size = unit === "ft" ? 1 : 0.25;
        const from = board.next?.at ?? sketch.points[sketch.points.length - 1] ?? middleOf(board, unit);
        board.point({
          at: tidy(plus(from, [arrow[0] * step * size, arrow[1] * step * size]), unit),
          caught: "free",
          guides: [],
        });
      } else if (event.key === "Enter") {
        // Enter with nothing pointed at ends what is drawn, as Done does
        if (!board.next && sketch.points.length > 1) board.finish();
        else board.put(board.next?.at ?? middleOf(board, unit));
      } else if (event.key === "Escape") use({ kind: "hand" });
      else if (event.key === "Backspace" || event.key === "Delete") board.takeBack();
      else {
        // the key goes on into the field
        if (/^[\d.]$/.test(event.key)) lengthField.current?.focus();
        return;
      }
      event.preventDefault();
      return;
    }
    if (event.key === "Escape") {
      if (board?.giveUp()) event.preventDefault();
      else if (tool.kind !== "hand") use({ kind: "hand" });
      else choose(null, null);
      return;
    }
    if (!onBoard && !target.dataset.key && !target.closest(".chosen")) return;
    const key = target.dataset.key ?? chosen.key;
    const one = parts.find((p) => p.key === key);
    if (arrow && one && !one.unread.length) {
      const step = event.shiftKey ? STEP[unit].large : STEP[unit].small;
      const index = key === chosen.key ? chosen.index : null;
      if (one.table === "runs" && (index === null || index === 0 || index === one.points.length - 1)) return;
      if (key !== chosen.key) choose(one.key, null);
      change(
        moved(values, parts, one, one.shape === "point" ? null : index, [arrow[0] * step, arrow[1] * step]),
        `move ${nameOf(one)}`,
      );
    } else if (arrow && onBoard) board?.pan(...arrow);
    else if (event.key === "Delete" && one) {
      if (one.key === chosen.key && chosen.index !== null && one.shape !== "point")
        doing.takeCorner(one, chosen.index);
      else {
        const all = [...document.querySelectorAll<HTMLElement>(".plan [data-key]")];
        const next = all[all.indexOf(target) + 1] ?? all[0];
        doing.takeOut(one);
        if (target.dataset.key && one.written !== undefined) setTimeout(() => next?.focus());
      }
    } else if (onBoard && (event.key === "+" || event.key === "=")) board?.zoom(1.4);
    else if (onBoard && event.key === "-") board?.zoom(1 / 1.4);
    else return;
    event.preventDefault();
  };

  return (
    <main className="plan" onKeyDown={keys}>
      <Tools
        work={work}
        tool={tool}
        asTable={asTable}
        catching={catching}
        squares={squares}
        board={board}
        onUse={use}
        onDraw={() => choose(null, null)}
        onTable={() => {
          use({ kind: "hand" });
          setAsTable(!asTable);
        }}
        onCatching={setCatching}
        onSquares={setSquares}
      />
      <div className="plan-sheet">
        {asTable ? (
          <PlanTable
            parts={parts}
            unit={unit}
            bareOf={(one) => bareUnit(values, one.entry) ?? unit}
            chosen={chosen.key}
            doing={doing}
          />
        ) : (
          <>
            <div className="plan-frame">
              <div
                ref={host}
                className="plan-map"
                role="application"
                // biome-ignore lint/a11y/noNoninteractiveTabindex: the drawing takes keys: arrows, Enter, Delete, figures
                tabIndex={0}
                aria-label={`Plan with ${parts.length} parts. Arrow keys move the chosen part or the paper; the same stands in the table.`}
              />
              <Scale unitsPerPixel={seen} unit={unit} />
              <North values={values} />
            </div>
            {tool.kind === "draw" ? (
              <DrawStrip
                key={tool.what.key}
                what={tool.what}
                sketch={sketch.points}
                next={sketch.next}
                unit={unit}
                field={lengthField}
                refused={refused}
                onPut={(where) => {
                  board?.put(tidy(where, unit));
                  host.current?.focus();
                }}
                onBack={() => board?.takeBack()}
                onDone={() => finish(sketch.points)}
                onStop={() => use({ kind: "hand" })}
                onStart={() => {
                  if (board) board.put(middleOf(board, unit));
                  host.current?.focus();
                }}
              />
            ) : tool.kind === "picture" ? (
              <PictureStrip
                has={placing !== null}
                marks={marks.length}
                apart={marks[0] && marks[1] ? distance(marks[0], marks[1]) : 0}
                strength={placing?.strength ?? 1}
                unit={unit}
                trouble={trouble}
                onFile={(file) =>
                  void take(
                    file,
                    board?.center ?? [0, 0],
                    (host.current?.clientWidth ?? 400) * 0.7 * (board?.resolution ?? 0.2),
                  )
                }
                onScale={(length) => {
                  const [a, b] = marks;
                  if (a && b && placing) {
                    place(scaled(placing, a, b, length));
                    setMarks([]);
                  }
                }}
                onLevel={() => {
                  const [a, b] = marks;
                  if (a && b && placing) {
                    place(leveled(placing, a, b));
                    setMarks([]);
                  }
                }}
                onStrength={(strength) => placing && place({ ...placing, strength })}
                onAway={() => void away()}
                onDone={() => use({ kind: "hand" })}
              />
            ) : (
              <div className="plan-strip">
                <p role="status">
                  {sketch.next
                    ? [
                        `${trimmed(sketch.next.at[0], 2)} east, ${trimmed(sketch.next.at[1], 2)} north`,
                        CAUGHT[sketch.next.caught],
                      ]
                        .filter(Boolean)
                        .join(", ")
                    : part
                      ? `${nameOf(part)}, ${part.origin}${part.says ? `, ${part.says}` : ""}`
                      : "Touch a part to see it. Drag a downspout, wye, basin or well to move it."}
                </p>
              </div>
            )}
            {/* who draws wants the room; who moves a part wants to see what becomes of the water */}
            {tool.kind === "hand" && (!answered || answered.designed) && (
              <PlanSection
                work={work}
                answered={answered}
                touched={part?.id ?? ""}
                onTouch={(label) => {
                  const one = parts.find((each) => each.id === label && each.table !== "survey");
                  if (one) choose(one.key, null);
                }}
              />
            )}
          </>
        )}
      </div>
      <div className="plan-margin" ref={side}>
        <Short answered={answered} stale={state.stale} />
        {part && !asTable && (
          <Chosen
            part={part}
            index={chosen.index}
            unit={unit}
            bare={bareUnit(values, part.entry) ?? unit}
            doing={doing}
            level={levelOf(part, values)}
          />
        )}
        {!asTable && (
          <section aria-label="Parts">
            <h2>Parts</h2>
            <ul className="plan-parts">
              {parts.map((one) => (
                <li key={one.key}>
                  <button
                    type="button"
                    data-key={one.key}
                    aria-pressed={one.key === chosen.key}
                    onClick={() => choose(one.key, null)}
                  >
                    <Dot kind={one.origin} /> {nameOf(one)}
                  </button>
                </li>
              ))}
            </ul>
          </section>
        )}
      </div>
    </main>
  );
}

/** What was measured at a shot: the elevation where the point is given, else the rod reading. */
function levelOf(part: Part, values: Leaf): { leaf: string; shown: string } | null {
  if (part.table !== "survey") return null;
  const leaf = part.entry.startsWith("survey.points") ? "elevation" : "rod";
  const said = at(values, join(part.entry, leaf));
  return { leaf, shown: typeof said === "string" || typeof said === "number" ? String(said) : "" };
}

const stands = (part: Part, end: XY | undefined): boolean =>
  end !== undefined &&
  ["wyes", "basins", "wells", "outlets"].includes(part.table) &&
  part.leaf === "at" &&
  distance(part.points[0] as XY, end) < 0.05;

const tidy = (place: XY, unit: Unit): XY => [
  rounded(place[0], GRIDS[unit].finest),
  rounded(place[1], GRIDS[unit].finest),
];

function middleOf(board: Board, unit: Unit): XY {
  const whole = unit === "ft" ? 1 : 0.25;
  return [rounded(board.center[0], whole), rounded(board.center[1], whole)];
}
