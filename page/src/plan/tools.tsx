// The presses over the plan: what is drawn next, what lies under it, what catches, how near it is seen.
import type { Work } from "../work";
import type { Board, Tool } from "./board";
import { GROUPS, KINDS, kindOf } from "./kinds";
import { UndoRedo } from "./undo";

export function Tools({
  work,
  tool,
  asTable,
  catching,
  squares,
  board,
  onUse,
  onDraw,
  onTable,
  onCatching,
  onSquares,
}: {
  work: Work;
  tool: Tool;
  asTable: boolean;
  catching: boolean;
  squares: boolean;
  board: Board | null;
  onUse: (tool: Tool) => void;
  /** Something else is drawn: what was chosen is let go. */
  onDraw: () => void;
  onTable: () => void;
  onCatching: (on: boolean) => void;
  onSquares: (on: boolean) => void;
}) {
  return (
    <div className="plan-tools" role="toolbar" aria-label="Plan">
      <UndoRedo work={work} />
      <label className="line">
        Draw
        <select
          value={tool.kind === "draw" ? tool.what.key : ""}
          disabled={asTable}
          onChange={(event) => {
            const what = kindOf(event.target.value);
            onUse(what ? { kind: "draw", what } : { kind: "hand" });
            onDraw();
          }}
        >
          <option value="">nothing</option>
          {GROUPS.map((group) => (
            <optgroup key={group} label={group}>
              {KINDS.filter((kind) => kind.group === group).map((kind) => (
                <option key={kind.key} value={kind.key}>
                  {kind.words}
                </option>
              ))}
            </optgroup>
          ))}
        </select>
      </label>
      <button
        type="button"
        aria-pressed={tool.kind === "picture"}
        disabled={asTable}
        onClick={() => onUse(tool.kind === "picture" ? { kind: "hand" } : { kind: "picture" })}
      >
        Picture
      </button>
      <label className="line check">
        <input type="checkbox" checked={catching} onChange={(event) => onCatching(event.target.checked)} />
        catch corners
      </label>
      <label className="line check">
        <input type="checkbox" checked={squares} onChange={(event) => onSquares(event.target.checked)} />
        keep square
      </label>
      <button type="button" disabled={asTable} onClick={() => board?.fit()}>
        Whole lot
      </button>
      <button type="button" disabled={asTable} onClick={() => board?.zoom(1.5)}>
        Nearer
      </button>
      <button type="button" disabled={asTable} onClick={() => board?.zoom(1 / 1.5)}>
        Farther
      </button>
      <button type="button" aria-pressed={asTable} onClick={onTable}>
        As a table
      </button>
    </div>
  );
}
