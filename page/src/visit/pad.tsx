// Number pad for one thumb: decimal figures, or feet and inches to an eighth; a keyboard works as well.
import { useId } from "react";
import { readLength, type Unit } from "../plan/lengths";
import { otherWay, showLevel } from "./foreman";

const EIGHTHS = ["", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"];

export function Pad({
  label,
  value,
  onValue,
  unit,
  bare,
  inches = false,
}: {
  label: string;
  value: string;
  onValue: (text: string) => void;
  unit: Unit;
  /** The unit of a number alone. */
  bare: string;
  /** Whether the depth is one in inches, as of water in a hole. */
  inches?: boolean;
}) {
  const id = useId();
  const read = readLength(value, unit, bare);
  const feet = unit === "ft";
  const add = (text: string) => onValue(value + text);
  return (
    <div className="pad">
      <label htmlFor={id}>{label}</label>
      <input
        id={id}
        className="reading"
        value={value}
        inputMode="none"
        autoComplete="off"
        onChange={(event) => onValue(event.target.value)}
      />
      <p className="other" aria-live="polite">
        {value.trim() === ""
          ? `a number alone is ${bare}`
          : read === undefined
            ? "not a length yet"
            : inches
              ? `${(feet ? read * 12 : read * 100).toFixed(1)} ${feet ? "in" : "cm"}`
              : `${showLevel(read, unit)}, ${otherWay(read, unit)}`}
      </p>
      <div className="keys">
        {["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0"].map((key) => (
          <button key={key} type="button" onClick={() => add(key)}>
            {key}
          </button>
        ))}
        <button
          type="button"
          aria-label="take the last figure back"
          onClick={() => onValue(value.slice(0, -1))}
        >
          back
        </button>
        {feet && (
          <>
            <button type="button" aria-label="feet" onClick={() => onValue(`${value.trimEnd()}' `)}>
              ′
            </button>
            <button type="button" aria-label="inches" onClick={() => onValue(`${value.trimEnd()}"`)}>
              ″
            </button>
            <button type="button" aria-label="one eighth more" onClick={() => onValue(eighthMore(value))}>
              +⅛
            </button>
          </>
        )}
      </div>
    </div>
  );
}

/** 10 becomes 10⅛, 10⅛ becomes 10¼, 10⅞ becomes 10 again. */
export function eighthMore(text: string): string {
  const mark = text.endsWith('"') ? '"' : "";
  const plain = text.slice(0, text.length - mark.length);
  const now = EIGHTHS.indexOf(plain.slice(-1));
  const stem = now > 0 ? plain.slice(0, -1) : plain;
  return stem + EIGHTHS[(Math.max(now, 0) + 1) % EIGHTHS.length] + mark;
}

/** What is kept: a number alone gets its unit. */
export function kept(text: string, bare: string): string {
  const typed = text.trim();
  return /^\d*\.?\d+[⅛¼⅜½⅝¾⅞]?$|^[⅛¼⅜½⅝¾⅞]$/.test(typed) ? `${typed} ${bare}` : typed;
}
