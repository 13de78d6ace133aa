// What the service says. Types follow the OpenAPI document; a change there shows in the tests of the page.
export type Verdict = "good" | "close" | "fails" | "unknown";

export interface JobSummary {
  id: string;
  name: string;
  customer: string;
  made: string;
  changed: string;
  archived: boolean;
  head: number;
}
export interface VersionSummary {
  job: string;
  number: number;
  saved: string;
  who: string;
  note: string;
}
export interface Version extends VersionSummary {
  document: string;
}
export interface Saved {
  job: string;
  number: number;
  fresh: boolean;
}
export interface StoredFile {
  name: string;
  kind: "picture" | "text" | "paper";
  sha256: string;
  size: number;
  added: string;
  who: string;
}
export interface Opened {
  summary: JobSummary;
  version: Version;
  values: Table;
  files: StoredFile[];
}
export interface Problem {
  path: string;
  line: number | null;
  read: string;
  message: string;
  code: string;
}
export interface Measurement {
  leaf: string;
  what: string;
  how: string;
}
/** A value that stands in for one that nobody measured. */
export interface Assumed {
  path: string;
  text: string;
  what: string;
  how_to_measure: string;
  source: string;
}
export interface Grounds {
  checks: Record<string, string>;
  sources: Record<string, string>;
}
export interface Finding {
  assumed: string[];
  code: string;
  question: number;
  subject: string;
  verdict: Verdict;
  value_text: string;
  limit_text: string;
  spare_text: string;
  sentence: string;
  source: string;
  detail: string;
  missing: Measurement[];
  value: number | null;
  limit: number | null;
  spare: number | null;
}
export interface Answer {
  question: number;
  title: string;
  verdict: Verdict | null;
  governing: Finding | null;
  sentence: string;
  findings: Finding[];
  detail: string;
}
export interface View {
  name: string;
  title: string;
  says: string;
  svg: string;
  key: string;
  width: number;
  height: number;
  notes: string[];
  /** Pixels a meter, and where the drawing's least x and greatest y stand. */
  along: number;
  up: number;
  left: number;
  top: number;
  x0: number;
  y1: number;
  figures: { rows: string[]; columns: { cells: string[]; strong: boolean }[] } | null;
}
/** A part on plan, in meters of the job's own frame; `table`, `id` and `leaf` are the key path that a given place has. */
export interface OnPlan {
  id: string;
  table: string;
  leaf: string;
  points: [number, number][];
  origin: "given" | "designed" | "assumed" | "missing";
  outline: [number, number][];
  outside_m: number;
  from_id: string | null;
  to_id: string | null;
  says: string;
}
export interface CaseRow {
  letter: string;
  what: string;
  house: string;
  below: string;
  comes_out: string;
  storm: string;
  judged: boolean;
}
export interface Answered {
  what_if: { rows: CaseRow[]; warnings: string[]; basis: string } | null;
  designed: boolean;
  problems: Problem[];
  answers: Answer[];
  views: View[];
  parts: OnPlan[];
  /** Questions whose words grow when what lies beyond is worked out; their verdicts stay. */
  follows: number[];
  waits: string[];
  open_sizes: string | null;
  draft: Draft | null;
  counts: Record<string, number>;
  assumed: Assumed[];
  /** What was designed and not given, by key path, as the document would hold it. */
  designed_values: Record<string, Leaf>;
  fingerprint: string;
}
/** Water in one long section: path data in its true meters, y up. */
export interface Water {
  body: string;
  surface: string;
}
export interface StormShown {
  storm: {
    title: string;
    instants: { hours: number; clock: string; says: string; ways: Water[] }[];
    hardest: number;
    curve: {
      hours: number[];
      rain: number[];
      depth: number[];
      rain_unit: string;
      depth_unit: string;
      full: number | null;
      well: string;
    };
  } | null;
}
/** A missing measurement and what it is worth: the answers that it holds open, those that it alone holds open. */
export interface Worth {
  leaf: string;
  what: string;
  how: string;
  answers: number[];
  alone: number[];
  words: string;
}
export interface Draft {
  headline: string;
  digging: string;
  price: string;
  waits: number;
  rule: string;
  missing: Worth[];
}
export interface RoofRow {
  label: string;
  area: string;
  volume: string;
  flow: string;
}
export interface SizeSold {
  words: string;
  shape: string;
  sides: [string, string];
}
/** What a few answers tell at once, before anything is designed. */
export interface FirstLook {
  stop: { when: string; why: string; call: string; may_go_on: boolean; check: string } | null;
  rain_step: string;
  roofs: RoofRow[];
  whole_roof: RoofRow | null;
  cloudburst: string;
  rain: string;
  rain_of_this_place: boolean;
  levels: { point: string; elevation: string; below: string }[];
  fall_whole: string;
  fall: string[];
  tests: { id: string; rate: string; remarks: string[] }[];
  textures: string[];
  leaders: SizeSold[];
  gutters: SizeSold[];
  edits: Edit[];
  unread: { name: string; message: string }[];
}
export interface FirstAsk {
  base: number;
  edits: Edit[];
  distances: Record<string, string>;
  corners: Record<string, string>;
  well_side: string;
}
/** What is on the page now, saved or not, and the frames that its drawings have. */
export interface Question {
  base: number;
  edits: Edit[];
  page: string;
  width: number;
  plan_height: number;
  section_height: number;
}
export interface YearsTable {
  sentences: string[];
  care: string[];
  rows: {
    well: string;
    care: string;
    age: string;
    silt: string;
    floor: string;
    room: string;
    held: string;
    empties: string;
    spills: string;
  }[];
  sediment: boolean;
  basis: string[];
}
export interface BeyondTable {
  basis: string;
  warnings: string[];
  stress: { what: string; well: string; level: string; spills: string; goes: string; house: string }[];
  notes: string[];
  held: string[];
  chance: { sentence: string; lines: string[] } | null;
  governing: string;
  rules: {
    what: string;
    well: string;
    wanted: string;
    had: string;
    share: string;
    governs: boolean;
    source: string;
  }[];
  record: {
    sentence: string;
    basis: string;
    rows: { what: string; record: string; within: string; table: string; said: string }[];
  } | null;
  rates: { basis: string; lines: string[] } | null;
  floods: string[];
}
export interface PaperSummary {
  name: string;
  file: string;
  what: string;
}
export interface Difference {
  path: string;
  older: string | null;
  newer: string | null;
}
export type Leaf = string | number | boolean | null | Leaf[] | Table;
export interface Table {
  [key: string]: Leaf;
}
export interface Edit {
  path: string;
  value: Leaf;
}
export interface Schema {
  $ref?: string;
  type?: string | string[];
  enum?: Leaf[];
  const?: Leaf;
  anyOf?: Schema[];
  items?: Schema;
  prefixItems?: Schema[];
  properties?: Record<string, Schema>;
  additionalProperties?: Schema | boolean;
  description?: string;
  examples?: string[];
  title?: string;
  $defs?: Record<string, Schema>;
  required?: string[];
}

/** The service refused, in words; `code` is stable. */
export class Told extends Error {
  constructor(
    readonly code: string,
    message: string,
    readonly status: number,
  ) {
    super(message);
  }
}

/** Nobody answered: no signal, or the service was ended. */
export class NoAnswer extends Error {}

export async function ask(
  method: string,
  url: string,
  body?: unknown,
  signal?: AbortSignal,
): Promise<Response> {
  const bytes = body instanceof ArrayBuffer;
  const type = bytes ? "application/octet-stream" : "application/json";
  let response: Response;
  try {
    response = await fetch(url, {
      method,
      headers: { "X-Roofwell": "page", ...(body === undefined ? {} : { "Content-Type": type }) },
      ...(body === undefined ? {} : { body: bytes ? body : JSON.stringify(body) }),
      ...(signal ? { signal } : {}),
    });
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new NoAnswer("Roofwell does not answer");
  }
  if (!response.ok) {
    const told = await response.json().catch(() => ({}));
    throw new Told(
      told.code ?? "fault",
      told.message ?? "something went wrong inside Roofwell",
      response.status,
    );
  }
  return response;
}

const json = async <T>(response: Promise<Response>): Promise<T> => (await response).json() as Promise<T>;

export const api = {
  health: () => json<{ version: string; key_needed: boolean }>(ask("GET", "api/health")),
  giveKey: (key: string) => ask("POST", "api/key", { key }),
  jobs: (search: string, archived: boolean) =>
    json<JobSummary[]>(ask("GET", `api/jobs?search=${encodeURIComponent(search)}&archived=${archived}`)),
  examples: () => json<string[]>(ask("GET", "api/examples")),
  create: (from: { starter?: string; example?: string; document?: string; who: string; operation: string }) =>
    json<Saved>(ask("POST", "api/jobs", from)),
  open: (id: string, number?: number) =>
    json<Opened>(ask("GET", `api/jobs/${id}${number === undefined ? "" : `?number=${number}`}`)),
  save: (
    id: string,
    save: { base: number; edits?: Edit[]; document?: string; who: string; operation: string },
  ) => json<Saved>(ask("POST", `api/jobs/${id}/save`, save)),
  versions: (id: string) => json<VersionSummary[]>(ask("GET", `api/jobs/${id}/versions`)),
  compare: (id: string, older: number, newer: number) =>
    json<Difference[]>(ask("GET", `api/jobs/${id}/compare?older=${older}&newer=${newer}`)),
  restore: (id: string, number: number, base: number, who: string) =>
    json<Saved>(ask("POST", `api/jobs/${id}/restore`, { number, base, who })),
  duplicate: (id: string, who: string) =>
    json<Saved>(ask("POST", `api/jobs/${id}/duplicate?who=${encodeURIComponent(who)}`)),
  archive: (id: string, archived: boolean) => ask("POST", `api/jobs/${id}/archive`, { archived }),
  answers: (id: string, body: Question, signal: AbortSignal) =>
    json<Answered>(ask("POST", `api/jobs/${id}/answers`, body, signal)),
  storm: (id: string, body: Question, signal: AbortSignal) =>
    json<StormShown>(ask("POST", `api/jobs/${id}/storm`, body, signal)),
  files: (id: string) => json<StoredFile[]>(ask("GET", `api/jobs/${id}/files`)),
  /** Sent by `work.files` alone, which keeps what waits and sends each once. */
  putFile: (
    id: string,
    file: { name: string; bytes: ArrayBuffer; operation: string; who: string; replace: boolean },
  ) => {
    const how = new URLSearchParams({
      operation: file.operation,
      who: file.who,
      replace: String(file.replace),
    });
    return json<{ file: StoredFile; fresh: boolean }>(
      ask("PUT", `${fileUrl(id, file.name)}?${how}`, file.bytes),
    );
  },
  takeFileAway: (id: string, name: string) => ask("DELETE", fileUrl(id, name)),
  begin: (house: { name: string; units: "us" | "metric"; who: string; operation: string }) =>
    json<Saved>(ask("POST", "api/first", house)),
  first: (id: string, body: FirstAsk, signal: AbortSignal) =>
    json<{ look: FirstLook; problems: Problem[] }>(ask("POST", `api/jobs/${id}/first`, body, signal)),
  grounds: () => json<Grounds>(ask("GET", "api/grounds")),
  papers: () => json<PaperSummary[]>(ask("GET", "api/papers")),
  schema: () => json<Schema>(ask("GET", "api/schema")),
};

/** Where a file of a job is asked for. */
export function fileUrl(id: string, name: string): string {
  return `api/jobs/${id}/files/${name.split("/").map(encodeURIComponent).join("/")}`;
}

/** A mark that nobody else gives; `crypto.randomUUID` is not there on a plain-http page of the network. */
export function mark(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}
