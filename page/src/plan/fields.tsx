// Lengths and coordinates that are typed: read when they are left or Enter is pressed, kept as typed until they can be read.
import { useEffect, useState } from "react";
import type { Leaf } from "../api";
import { readLength, trimmed, type Unit } from "./lengths";
import type { Part } from "./model";

export function LengthField({
  label,
  shown,
  unit,
  bare,
  wrong = false,
  onRead,
}: {
  label: string;
  shown: string;
  unit: Unit;
  bare: string;
  wrong?: boolean;
  onRead: (value: number, text: string) => void;
}) {
  const [text, setText] = useState<string | null>(null);
  const [bad, setBad] = useState("");
  useEffect(() => {
    setText(null);
    setBad("");
  }, [shown]);
  const leave = () => {
    if (text === null || text.trim() === shown) {
      setText(null);
      return;
    }
    const value = readLength(text, unit, bare);
    if (value === undefined)
      setBad(`“${text}” cannot be read: write ${unit === "ft" ? "24' 6\" or 24.5" : "7.45 m or 7.45"}`);
    else {
      setBad("");
      onRead(value, text.trim());
    }
  };
  return (
    <>
      <input
        aria-label={label}
        className="length"
        value={text ?? shown}
        aria-invalid={bad !== "" || wrong}
        onChange={(event) => setText(event.target.value)}
        onBlur={leave}
        onKeyDown={(event) => {
          if (event.key === "Enter") {
            event.preventDefault();
            leave();
          }
          if (event.key === "Escape") {
            setText(null);
            setBad("");
          }
        }}
      />
      {bad && (
        <span className="why" role="alert">
          {bad}
        </span>
      )}
    </>
  );
}

/** One coordinate as the document has it, or as it was designed. */
export function coordinateText(part: Part, index: number, axis: 0 | 1, unit: Unit): string {
  const point = part.shape === "point" ? part.written : at(part.written, index);
  const leaf = at(point, axis);
  if (typeof leaf === "string") return leaf;
  if (typeof leaf === "number") return String(leaf);
  const value = part.points[index]?.[axis];
  return value === undefined || !Number.isFinite(value) ? "" : trimmed(value, unit === "ft" ? 2 : 3);
}

function at(leaf: Leaf | undefined, index: number): Leaf | undefined {
  return Array.isArray(leaf) ? leaf[index] : undefined;
}

export function PointFields({
  part,
  index,
  name,
  unit,
  bare,
  onTyped,
}: {
  part: Part;
  index: number;
  name: string;
  unit: Unit;
  bare: string;
  onTyped: (index: number, axis: 0 | 1, value: number, text: string) => void;
}) {
  return ([0, 1] as const).map((axis) => (
    <td key={axis}>
      <LengthField
        label={`${name}, ${axis === 0 ? "east" : "north"}`}
        shown={coordinateText(part, index, axis, unit)}
        unit={unit}
        bare={bare}
        wrong={part.unread.includes(index)}
        onRead={(value, text) => onTyped(index, axis, value, text)}
      />
    </td>
  ));
}
