// One leaf of the job that is typed on the visit: a length, or a few words.
import { useId, useState } from "react";
import type { Edit } from "../api";
import { at } from "../paths";
import type { Work } from "../work";
import { kept } from "./pad";

export function Typed({
  work,
  path,
  label,
  hint,
  bare,
  along,
}: {
  work: Work;
  path: string;
  label: string;
  hint: string;
  /** The unit of a number alone; left out where words are typed. */
  bare?: "in" | "cm";
  /** Edits that belong to this one, such as how the figure is known. */
  along?: (value: string | null) => Edit[];
}) {
  const id = useId();
  const held = at(work.state.values, path);
  const [text, setText] = useState(typeof held === "string" ? held : "");
  return (
    <>
      <label className="field" htmlFor={id}>
        <span>{label}</span>
        <input
          id={id}
          value={text}
          autoComplete="off"
          inputMode={bare ? "decimal" : "text"}
          aria-describedby={`${id}-how`}
          onChange={(event) => setText(event.target.value)}
          onBlur={() => {
            const value = text.trim() === "" ? null : bare ? kept(text, bare) : text.trim();
            if (value !== (held ?? null)) work.change([...(along?.(value) ?? []), { path, value }], label);
          }}
        />
      </label>
      <p id={`${id}-how`} className="small">
        {hint}
      </p>
    </>
  );
}
