// Fields of the first house: large, one length with its marks, and what is wrong right under it.
import { useId } from "react";
import { kept } from "../visit/pad";

export function LengthField({
  label,
  value,
  onValue,
  units,
  wrong,
  hint,
  fresh,
}: {
  label: string;
  value: string;
  onValue: (text: string) => void;
  units: "us" | "metric";
  wrong?: string | undefined;
  hint?: string;
  /** Just added by the person: the cursor goes here. */
  fresh?: boolean;
}) {
  const id = useId();
  return (
    <div className={`length ${wrong ? "wrong" : ""}`}>
      <label htmlFor={id}>{label}</label>
      <span className="line tight">
        <input
          id={id}
          value={value}
          inputMode="decimal"
          autoComplete="off"
          ref={fresh ? toCursor : undefined}
          enterKeyHint="next"
          placeholder={units === "us" ? "ft" : "m"}
          aria-invalid={wrong !== undefined}
          aria-describedby={wrong || hint ? `${id}-how` : undefined}
          onChange={(event) => onValue(event.target.value)}
        />
        {units === "us" && (
          <>
            <Mark mark={"'"} name={`feet, ${label}`} onMark={() => onValue(`${value}' `)} />
            <Mark mark={'"'} name={`inches, ${label}`} onMark={() => onValue(`${value.trimEnd()}"`)} />
          </>
        )}
      </span>
      {(wrong || hint) && (
        <p id={`${id}-how`} className={wrong ? "why" : "how"} role={wrong ? "alert" : undefined}>
          {wrong ?? hint}
        </p>
      )}
    </div>
  );
}

/** Only once, as the field appears: a stable function is not called again. */
function toCursor(element: HTMLInputElement | null): void {
  element?.focus();
}

// Not on the way of the Tab key: a keyboard has the two marks itself.
function Mark({ mark, name, onMark }: { mark: string; name: string; onMark: () => void }) {
  return (
    <button type="button" className="mark" tabIndex={-1} aria-label={name} onClick={onMark}>
      {mark === "'" ? "ft" : "in"}
    </button>
  );
}

/** A number alone counts in the job's unit; what has a unit stays as it was typed. */
export function withUnit(text: string, units: "us" | "metric"): string {
  return kept(text, units === "us" ? "ft" : "m");
}

/** A field shows what was typed: the unit that was put behind a bare number is taken off again. */
export function withoutUnit(text: unknown, units: "us" | "metric"): string {
  if (typeof text === "number") return String(text);
  if (typeof text !== "string") return "";
  const unit = units === "us" ? " ft" : " m";
  return text.endsWith(unit) && /^\d*\.?\d+$/.test(text.slice(0, -unit.length))
    ? text.slice(0, -unit.length)
    : text;
}

/** A choice by name, its label beside it and not round it, so that only the label names it. */
export function Pick({
  label,
  value,
  options,
  none,
  onValue,
}: {
  label: string;
  value: string;
  options: { value: string; words: string }[];
  none: string;
  onValue: (value: string) => void;
}) {
  const id = useId();
  return (
    <div className="field pick">
      <label htmlFor={id}>{label}</label>
      <select id={id} value={value} onChange={(event) => onValue(event.target.value)}>
        <option value="">{none}</option>
        {options.map((one) => (
          <option key={one.value} value={one.value}>
            {one.words}
          </option>
        ))}
      </select>
    </div>
  );
}
