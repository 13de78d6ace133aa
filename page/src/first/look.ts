// The instant figures of a first house: asked for after every answer, and the places that follow written back as leaves.
import { useEffect, useState, useSyncExternalStore } from "react";
import { api, type FirstLook, type Leaf, NoAnswer, type Problem } from "../api";
import { at, isTable } from "../paths";
import type { Work } from "../work";

const AFTER_MS = 200;
const AGAIN_MS = 5000;

/** The frame of a house that was begun by the first questions: its places count from there. */
export const FIRST_ORIGIN = "front left corner of the lot, seen from the street";

export const LOT = ["along", "deep", "left", "right", "front", "back"] as const;

// The note is printed: what the service calls by a short name stands in it in words.
const IN_WORDS: Record<string, string> = { well_off: "from its wall", well_along: "from the lot line" };

/** Distances as they were taped, kept as a note on the house and on the well: "along 44 ft; deep 28 ft". */
export function taped(note: Leaf | undefined): Record<string, string> {
  const out: Record<string, string> = {};
  if (typeof note !== "string") return out;
  for (const part of note.split("; ")) {
    const [short, words] = Object.entries(IN_WORDS).find(([, said]) => part.startsWith(`${said} `)) ?? [];
    const [name, ...rest] = part.split(" ");
    if (short && words) out[short] = part.slice(words.length + 1);
    else if (name) out[name] = rest.join(" ");
  }
  return out;
}

export function note(distances: Record<string, string>): string {
  return Object.entries(distances)
    .filter(([, text]) => text.trim() !== "")
    .map(([name, text]) => `${IN_WORDS[name] ?? name} ${text.replaceAll(";", ",").trim()}`)
    .join("; ");
}

export interface Looked {
  look: FirstLook | null;
  problems: Problem[];
  trouble: string;
}

/** What the service says of the answers so far; with no signal the answers are kept and the figures come later. */
export function useLook(work: Work, units: "us" | "metric"): Looked {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const [looked, setLooked] = useState<Looked>({ look: null, problems: [], trouble: "" });
  const [turn, setTurn] = useState(0);
  const { values, opened } = state;
  useEffect(() => {
    const asking = new AbortController();
    let again: ReturnType<typeof setTimeout> | undefined;
    const timer = setTimeout(() => {
      const now = work.state;
      const body = {
        base: now.opened.version.number,
        edits: now.edits,
        distances: withUnits({ ...taped(at(values, "buildings.H1.note")), ...wellTape(values) }, units),
        corners: corners(values),
        well_side: wellSide(values),
      };
      api.first(opened.summary.id, body, asking.signal).then(
        ({ look, problems }) => {
          setLooked({ look, problems, trouble: "" });
          const fresh = look.edits.filter(
            (edit) => JSON.stringify(at(work.state.values, edit.path)) !== JSON.stringify(edit.value),
          );
          work.change(fresh, "places of the first visit");
        },
        (error: unknown) => {
          if (asking.signal.aborted) return;
          const away = error instanceof NoAnswer;
          const words = away
            ? "No signal: what you type is kept here. The figures come when Roofwell answers again."
            : String((error as Error).message);
          setLooked((before) => ({ ...before, trouble: words }));
          if (away) again = setTimeout(() => setTurn((n) => n + 1), AGAIN_MS);
        },
      );
    }, AFTER_MS);
    return () => {
      clearTimeout(timer);
      clearTimeout(again);
      asking.abort();
    };
  }, [values, turn, work, units]);
  return looked;
}

function withUnits(distances: Record<string, string>, units: "us" | "metric"): Record<string, string> {
  const unit = units === "us" ? "ft" : "m";
  const bare = /^[\d.,]+$/;
  return Object.fromEntries(
    Object.entries(distances).map(([name, text]) => [name, bare.test(text) ? `${text} ${unit}` : text]),
  );
}

export function corners(values: Leaf): Record<string, string> {
  const spouts = at(values, "downspouts");
  if (!isTable(spouts)) return {};
  return Object.fromEntries(
    Object.entries(spouts).flatMap(([label, spout]) =>
      isTable(spout) && typeof spout.note === "string" ? [[label, spout.note]] : [],
    ),
  );
}

/** "behind the house; from its wall 26 ft; from the lot line 50 ft" */
export function wellSide(values: Leaf): string {
  const said = at(values, "wells.W1.note");
  return typeof said === "string" ? (said.split(" the house")[0] ?? "") : "";
}

export function wellTape(values: Leaf): Record<string, string> {
  const said = at(values, "wells.W1.note");
  return typeof said === "string" ? taped(said.split("; ").slice(1).join("; ")) : {};
}
