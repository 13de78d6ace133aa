// What can be drawn, in the words of the trade, with what the document calls it.
import type { Table } from "../api";

export type Shape = "point" | "path" | "outline";

export interface Kind {
  key: string;
  words: string;
  group: string;
  table: string;
  shape: Shape;
  /** First letter of the labels that the crew sees. */
  letter: string;
  /** What the new entry holds beside its place. */
  holds: Table;
}

const feature = (words: string, shape: Shape, letter: string, group: string, more: Table = {}): Kind => ({
  key: more.utility ? `utility ${String(more.utility)}` : words,
  words,
  group,
  table: "features",
  shape,
  letter,
  holds: { kind: more.utility ? "utility" : words, ...more },
});

const ours = (table: string, words: string, letter: string, shape: Shape = "point"): Kind => ({
  key: table,
  words,
  group: "Our system",
  table,
  shape,
  letter,
  holds: {},
});

const buried = (utility: string, words: string): Kind =>
  feature(words, "path", "U", "Buried already", { utility });

export const KINDS: Kind[] = [
  { ...ours("buildings", "house walls", "H", "outline"), group: "The house" },
  { ...ours("roofs", "roof section", "R", "outline"), group: "The house" },
  { ...ours("downspouts", "downspout", "D"), group: "The house" },
  feature("lot line", "outline", "L", "On the lot"),
  feature("walk", "outline", "K", "On the lot"),
  feature("drive", "outline", "V", "On the lot"),
  feature("tree", "point", "T", "On the lot"),
  feature("neighbor's building", "outline", "N", "On the lot"),
  feature("street", "outline", "S", "On the lot"),
  feature("open water", "outline", "A", "On the lot"),
  feature("slope crest", "path", "C", "On the lot"),
  feature("break line", "path", "G", "On the lot"),
  { ...ours("complaint", "puddle", "", "outline"), group: "On the lot" },
  feature("existing drain", "path", "X", "Buried already"),
  feature("septic tank", "outline", "ST", "Buried already"),
  feature("leach field", "outline", "LF", "Buried already"),
  feature("drinking-water well", "point", "DW", "Buried already"),
  buried("electric", "electric line"),
  buried("gas", "gas line"),
  buried("communication", "communication line"),
  buried("water", "drinking-water line"),
  buried("sewer", "sewer line"),
  buried("reclaimed", "irrigation line"),
  buried("unknown", "buried line of unknown kind"),
  ours("runs", "run of pipe", "P", "path"),
  ours("wyes", "wye", "Y"),
  ours("basins", "catch basin", "B"),
  ours("wells", "dry well", "W"),
  ours("overflows", "overflow", "O"),
  ours("outlets", "outlet", "E"),
  { ...ours("survey", "shot", ""), key: "shot", group: "Levels" },
];

export const GROUPS = [...new Set(KINDS.map((kind) => kind.group))];

export const kindOf = (key: string): Kind | undefined => KINDS.find((kind) => kind.key === key);

/** How a feature is called. */
export function featureWords(kind: string, utility: string | undefined): string {
  if (kind !== "utility") return kind;
  return KINDS.find((one) => one.holds.utility === (utility ?? "unknown"))?.words ?? "buried line";
}

/** The letter that a buried line carries on every drawing. */
export const LETTERS: Record<string, string> = {
  electric: "E",
  gas: "G",
  communication: "C",
  water: "W",
  reclaimed: "R",
  sewer: "S",
  unknown: "?",
};
