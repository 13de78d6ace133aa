// Taking steps back and making them again: by key anywhere in a job, by press where they are shown.
import { useEffect, useSyncExternalStore } from "react";
import type { Work } from "../work";

const TYPED_IN = "input:not([type=checkbox]):not([type=range]), textarea, select";

/** Ctrl-Z and Ctrl-Shift-Z (or Ctrl-Y) over the whole job; a field that is typed in keeps its own. */
export function useUndoKeys(work: Work): void {
  useEffect(() => {
    const keys = (event: KeyboardEvent) => {
      if (!(event.ctrlKey || event.metaKey) || (event.target as Element | null)?.matches?.(TYPED_IN)) return;
      const key = event.key.toLowerCase();
      if (key === "z" && !event.shiftKey) work.undo();
      else if ((key === "z" && event.shiftKey) || key === "y") work.redo();
      else return;
      event.preventDefault();
    };
    document.addEventListener("keydown", keys);
    return () => document.removeEventListener("keydown", keys);
  }, [work]);
}

export function UndoRedo({ work }: { work: Work }) {
  useSyncExternalStore(work.listen, () => work.state);
  return (
    <>
      <button type="button" disabled={work.history.past.length === 0} onClick={() => work.undo()}>
        Undo
      </button>
      <button type="button" disabled={work.history.future.length === 0} onClick={() => work.redo()}>
        Redo
      </button>
    </>
  );
}
