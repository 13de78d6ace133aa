// Number pad for one thumb: decimal figures, or feet and inches to an eighth; a keyboard works as well.
import { useId } from "react";
import { readLength, type Unit } from "../plan/lengths";
import { otherWay, showLevel } from "./foreman";

const NAMES: Record<string, string> = { in: "inches", ft: "feet", cm: "centimeters", m: "meters" };
const EIGHTHS = ["", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"];

export function Pad({
  label,
  value,
  onValue,
  unit,
  bare,
  inches = false,
  means,
  still = false,
}: {
  label: string;
  value: string;
  onValue: (text: string) => void;
  unit: Unit;
  /** The unit of a number alone. */
  bare: string;
  /** Whether the depth is one in inches, as of water in a hole. */
  inches?: boolean;
  /** What the reading means, right under it, where a thumb does not hide it. */
  means?: React.ReactNode;
  /** Not read out at every change, as a running clock. */
  still?: boolean;
}) {
  const id = useId();
  const read = readLength(value, unit, bare);
  const feet = unit === "ft";
  const digits = (keys: string) =>
    [...keys].map((key) => (
      <button key={key} type="button" onClick={() => onValue(value + key)}>
        {key}
      </button>
    ));
  const back = (
    <button type="button" aria-label="take the last figure back" onClick={() => onValue(value.slice(0, -1))}>
      back
    </button>
  );
  return (
    <div className="pad">
      <div className="named">
        <label htmlFor={id}>{label}</label>
        <p className="other" aria-live="polite">
          {value.trim() === ""
            ? `a number alone counts as ${NAMES[bare] ?? bare}`
            : read === undefined
              ? "not a length yet"
              : inches
                ? `${(feet ? read * 12 : read * 100).toFixed(1)} ${feet ? "in" : "cm"}`
                : `${showLevel(read, unit)}, ${otherWay(read, unit)}`}
        </p>
      </div>
      <input
        id={id}
        className="reading"
        value={value}
        inputMode="none"
        autoComplete="off"
        onChange={(event) => onValue(event.target.value)}
      />
      {means && (
        <p className="means" aria-live={still ? "off" : "polite"}>
          {means}
        </p>
      )}
      <div className={feet ? "keys four" : "keys"}>
        {digits("789")}
        {back}
        {digits("456")}
        {feet && (
          <button type="button" aria-label="feet" onClick={() => onValue(`${value.trimEnd()}' `)}>
            ft
          </button>
        )}
        {digits("123")}
        {feet && (
          <button type="button" aria-label="inches" onClick={() => onValue(`${value.trimEnd()}"`)}>
            in
          </button>
        )}
        {digits(".0")}
        {feet && (
          <button
            type="button"
            className="wide"
            aria-label="one eighth more"
            onClick={() => onValue(eighthMore(value))}
          >
            +⅛
          </button>
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

/** What is kept: a number alone gets its unit; what has one, or cannot be read, stays as it was typed. */
export function kept(text: string, bare: string): string {
  const typed = text.trim();
  const alone = readLength(typed, "m") === undefined && readLength(typed, "m", bare) !== undefined;
  return alone ? `${typed} ${bare}` : typed;
}
