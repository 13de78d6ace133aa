// The line under the plan: what to do next, lengths that are typed while drawing, the picture's scale.
import { useRef, useState } from "react";
import { angle, distance, toward, type XY } from "./geometry";
import type { Kind } from "./kinds";
import { readLength, showLength, type Unit } from "./lengths";
import type { Snapped } from "./snap";

const TOWARD = [
  "pointer",
  "right",
  "up",
  "left",
  "down",
  "square left",
  "square right",
  "straight on",
] as const;
type Toward = (typeof TOWARD)[number];

/** The direction in which a typed length goes; undefined where nothing says it. */
export function direction(way: Toward, sketch: XY[], pointer: XY | null): number | undefined {
  const last = sketch[sketch.length - 1];
  const before = sketch[sketch.length - 2];
  if (!last) return undefined;
  if (way === "pointer") return pointer && distance(last, pointer) > 0 ? angle(last, pointer) : undefined;
  const plan = { right: 0, up: Math.PI / 2, left: Math.PI, down: -Math.PI / 2 }[way as "right"];
  if (plan !== undefined) return plan;
  if (!before) return undefined;
  const side = angle(before, last);
  return way === "straight on" ? side : way === "square left" ? side + Math.PI / 2 : side - Math.PI / 2;
}

export const CAUGHT = {
  corner: "on a corner",
  side: "on a side",
  square: "in line or square",
  "square corner": "square to both sides",
  free: "",
} as const;

export function DrawStrip({
  what,
  sketch,
  next,
  unit,
  field,
  refused,
  onPut,
  onBack,
  onDone,
  onStop,
  onStart,
}: {
  what: Kind;
  sketch: XY[];
  next: Snapped | null;
  unit: Unit;
  /** The field of the length: a figure that is typed on the plan goes into it. */
  field: React.RefObject<HTMLInputElement | null>;
  refused: string;
  onPut: (at: XY) => void;
  onBack: () => void;
  onDone: () => void;
  onStop: () => void;
  onStart: () => void;
}) {
  const [text, setText] = useState("");
  const [way, setWay] = useState<Toward>("pointer");
  const [bad, setBad] = useState("");
  const pointer = useRef<XY | null>(null);
  if (next) pointer.current = next.at;
  const last = sketch[sketch.length - 1];
  const enough = sketch.length >= (what.shape === "outline" ? 3 : 2);
  const length = last && next ? showLength(distance(last, next.at), unit) : "";
  const says = last
    ? [`${what.words}, corner ${sketch.length} placed`, length, next ? CAUGHT[next.caught] : ""]
        .filter(Boolean)
        .join(", ")
    : what.shape === "point"
      ? `Touch where the ${what.words} is`
      : what.key === "runs"
        ? "Touch the part that the water comes from, then each bend, then the part that it goes to"
        : `Touch the first corner of the ${what.words}`;
  return (
    <form
      className="plan-strip"
      onSubmit={(event) => {
        event.preventDefault();
        const value = readLength(text, unit, unit);
        const to = direction(way, sketch, pointer.current);
        if (value === undefined || value <= 0)
          setBad(`“${text}” cannot be read: write ${unit === "ft" ? "24' 6\" or 24.5" : "7.45 m or 7.45"}`);
        else if (to === undefined || !last) setBad("Point the way first, or choose it beside the length.");
        else {
          setBad("");
          setText("");
          onPut(toward(last, to, value));
        }
      }}
    >
      <p role="status">{bad || refused || says}</p>
      {last && what.shape !== "point" && (
        <span className="line">
          <label className="line">
            Length
            <input
              ref={field}
              className="length"
              value={text}
              placeholder={unit === "ft" ? "24' 6\"" : "7.45"}
              onChange={(event) => {
                setText(event.target.value);
                setBad("");
              }}
              onKeyDown={(event) => event.key === "Escape" && onStop()}
            />
          </label>
          <label className="line">
            <span className="toward">toward</span>
            <select
              aria-label="toward"
              value={way}
              onChange={(event) => setWay(event.target.value as Toward)}
            >
              {TOWARD.map((one) => (
                <option key={one}>{one}</option>
              ))}
            </select>
          </label>
          <button type="submit">Place it</button>
        </span>
      )}
      <span className="presses">
        {!last && (
          <button type="button" onClick={onStart}>
            {what.shape === "point" ? "Put it in the middle" : "Start in the middle"}
          </button>
        )}
        {last && (
          <button type="button" onClick={onBack}>
            Back one
          </button>
        )}
        {enough && (
          <button type="button" className="main" onClick={onDone}>
            Done
          </button>
        )}
        <button type="button" onClick={onStop}>
          Stop
        </button>
      </span>
    </form>
  );
}

export function PictureStrip({
  has,
  marks,
  apart,
  strength,
  unit,
  trouble,
  onFile,
  onScale,
  onLevel,
  onStrength,
  onAway,
  onDone,
}: {
  has: boolean;
  marks: number;
  /** How far the two places are apart now. */
  apart: number;
  strength: number;
  unit: Unit;
  trouble: string;
  onFile: (file: File) => void;
  onScale: (length: number) => void;
  onLevel: () => void;
  onStrength: (value: number) => void;
  onAway: () => void;
  onDone: () => void;
}) {
  const [text, setText] = useState("");
  const [bad, setBad] = useState("");
  const says = !has
    ? "A photo from above, a plot plan or a sketch lies under the plan, and you draw over it."
    : marks === 0
      ? "Drag the picture to its place. Then touch two places in it whose distance you know."
      : marks === 1
        ? "Touch the second place."
        : `These two lie ${showLength(apart, unit)} apart now. Type how far they truly are.`;
  return (
    <form
      className="plan-strip"
      onSubmit={(event) => {
        event.preventDefault();
        const value = readLength(text, unit, unit);
        if (value === undefined || value <= 0) setBad(`“${text}” cannot be read as a length`);
        else {
          setBad("");
          setText("");
          onScale(value);
        }
      }}
    >
      <p role="status">{trouble || bad || says}</p>
      {marks === 2 && (
        <span className="line">
          <label className="line">
            Distance
            <input
              className="length"
              value={text}
              placeholder={unit === "ft" ? "44'" : "13.4"}
              onChange={(event) => setText(event.target.value)}
            />
          </label>
          <button type="submit" className="main">
            Set the scale
          </button>
          <button type="button" onClick={onLevel}>
            Lay this line straight
          </button>
        </span>
      )}
      <span className="presses">
        <label className="press">
          {has ? "Another picture" : "Choose a picture"}
          <input
            type="file"
            accept="image/*"
            onChange={(event) => {
              const file = event.target.files?.[0];
              if (file) onFile(file);
              event.target.value = "";
            }}
          />
        </label>
        {has && (
          <>
            <label className="line">
              strong
              <input
                type="range"
                min="0.1"
                max="1"
                step="0.1"
                value={strength}
                onChange={(event) => onStrength(Number(event.target.value))}
              />
            </label>
            <button type="button" onClick={onAway}>
              Take the picture away
            </button>
          </>
        )}
        <button type="button" onClick={onDone}>
          {has ? "Done" : "Stop"}
        </button>
      </span>
    </form>
  );
}
