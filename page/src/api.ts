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
export interface Opened {
  summary: JobSummary;
  version: Version;
  values: Table;
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
export interface Finding {
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
  waits: string[];
  open_sizes: string | null;
  counts: Record<string, number>;
  fingerprint: string;
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

async function ask(method: string, url: string, body?: unknown, signal?: AbortSignal): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(url, {
      method,
      headers: {
        "X-Roofwell": "page",
        ...(body === undefined ? {} : { "Content-Type": "application/json" }),
      },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
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
  answers: (
    id: string,
    body: {
      base: number;
      edits: Edit[];
      page: string;
      width: number;
      plan_height: number;
      section_height: number;
    },
    signal: AbortSignal,
  ) => json<Answered>(ask("POST", `api/jobs/${id}/answers`, body, signal)),
  papers: () => json<PaperSummary[]>(ask("GET", "api/papers")),
  schema: () => json<Schema>(ask("GET", "api/schema")),
};

/** A mark that nobody else gives; `crypto.randomUUID` is not there on a plain-http page of the network. */
export function mark(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}
