// What the service says. The types are made from its OpenAPI document (page/apitypes); a test fails when they lag.
import type { components } from "./api-types";

type S = components["schemas"];

/** What stands at a key path of a document. */
export type Leaf = string | number | boolean | null | Leaf[] | Table;
export interface Table {
  [key: string]: Leaf;
}
export type Edit = S["Edit"] & { value: Leaf };
/** The document's values are any JSON to the service; here they are what a document may hold. */
export type Opened = Omit<S["Opened"], "values"> & { values: Table };
export type Answered = Omit<S["Answered"], "designed_values"> & { designed_values: Record<string, Leaf> };
export type FirstLook = Omit<S["FirstLook"], "edits"> & { edits: Edit[] };
export type FirstAsk = Required<Omit<S["FirstAsk"], "edits">> & { edits: Edit[] };
export type Question = Omit<S["Ask"], "document" | "edits"> & { edits: Edit[] };

export type Answer = S["Answer"];
export type Assumed = S["AssumedValue"];
export type BeyondTable = S["BeyondTable"];
export type Chances = S["Chances"];
export type Mend = Omit<S["Mend"], "edits"> & { edits: Edit[] };
export type MendsTried = S["MendsTried"];
export type CaseRow = S["CaseRow"];
export type Compared = S["Compared"];
export type Difference = S["Difference"];
export type Draft = S["Draft"];
export type Finding = S["Finding"];
export type Grounds = S["Grounds"];
export type JobSummary = S["JobSummary"];
export type Measurement = S["Measurement"];
export type OnPlan = S["OnPlan"];
export type PaperSummary = S["PaperSummary"];
export type Problem = S["Problem"];
export type Pictured = S["Pictured"];
export type PutFile = S["PutFile"];
export type RoofRow = S["RoofRow"];
export type Saved = S["Saved"];
export type SizeSold = S["Size"];
export type StoredFile = S["StoredFile"];
export type StormShown = S["StormShown"];
export type YearsFound = NonNullable<S["YearsShown"]["years"]>;
export type Verdict = Finding["verdict"];
export type Version = S["Version"];
export type VersionSummary = S["VersionSummary"];
export type View = S["View"];
export type Water = S["Water"];
export type Worth = S["Worth"];
export type YearsTable = S["YearsTable"];

/** JSON Schema of the document, as far as the page reads it. */
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
  health: () => json<S["Health"]>(ask("GET", "api/health")),
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
  moved: (id: string, older: number, newer: number, signal: AbortSignal) =>
    json<Compared>(ask("GET", `api/jobs/${id}/moved?older=${older}&newer=${newer}`, undefined, signal)),
  restore: (id: string, number: number, base: number, who: string) =>
    json<Saved>(ask("POST", `api/jobs/${id}/restore`, { number, base, who })),
  duplicate: (id: string, who: string) =>
    json<Saved>(ask("POST", `api/jobs/${id}/duplicate?who=${encodeURIComponent(who)}`)),
  archive: (id: string, archived: boolean) => ask("POST", `api/jobs/${id}/archive`, { archived }),
  storm: (id: string, body: Question, signal: AbortSignal) =>
    json<StormShown>(ask("POST", `api/jobs/${id}/storm`, body, signal)),
  fullWell: (id: string, body: Question, signal: AbortSignal) =>
    json<S["FullWellShown"]>(ask("POST", `api/jobs/${id}/full-well`, body, signal)),
  years: (id: string, body: Question, signal: AbortSignal) =>
    json<S["YearsShown"]>(ask("POST", `api/jobs/${id}/years`, body, signal)),
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
    return json<PutFile>(ask("PUT", `${fileUrl(id, file.name)}?${how}`, file.bytes));
  },
  takeFileAway: (id: string, name: string) => ask("DELETE", fileUrl(id, name)),
  begin: (house: { name: string; units: "us" | "metric"; who: string; operation: string }) =>
    json<Saved>(ask("POST", "api/first", house)),
  first: (id: string, body: FirstAsk, signal: AbortSignal) =>
    json<{ look: FirstLook; problems: Problem[] }>(ask("POST", `api/jobs/${id}/first`, body, signal)),
  pictures: (id: string, body: Question, signal: AbortSignal) =>
    json<Pictured[]>(ask("POST", `api/jobs/${id}/pictures`, body, signal)),
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
