// Edits go here first, and leave only when the service says that it has them.
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Answered, Edit, JobSummary, Opened, Schema } from "./api";

export interface Waiting {
  job: string;
  /** Number of the version that was worked on. */
  base: number;
  edits: Edit[];
  /** Mark of the save that is under way or was not acknowledged: the same edits go out under the same mark. */
  operation: string | null;
  /** How many of the edits that mark stands for. */
  sent: number;
}

/** A job as it was seen last, so that it opens while the service is away. */
export interface Seen {
  job: string;
  opened: Opened;
  answered: Answered | null;
}

interface Boxes extends DBSchema {
  waiting: { key: string; value: Waiting };
  seen: { key: string; value: Seen };
  fields: { key: string; value: Schema };
}

let opened: Promise<IDBPDatabase<Boxes>> | null = null;

function box(): Promise<IDBPDatabase<Boxes>> {
  opened ??= openDB<Boxes>("roofwell", 2, {
    upgrade: (db) => {
      if (!db.objectStoreNames.contains("waiting")) db.createObjectStore("waiting", { keyPath: "job" });
      if (!db.objectStoreNames.contains("seen")) db.createObjectStore("seen", { keyPath: "job" });
      if (!db.objectStoreNames.contains("fields")) db.createObjectStore("fields");
    },
  });
  return opened;
}

export const outbox = {
  get: async (job: string): Promise<Waiting | undefined> => (await box()).get("waiting", job),
  put: async (waiting: Waiting): Promise<void> => {
    await (await box()).put("waiting", waiting);
  },
  done: async (job: string): Promise<void> => (await box()).delete("waiting", job),
};

/** What was seen last; a browser that keeps nothing just does not have it. */
export const memory = {
  job: async (job: string): Promise<Seen | undefined> => (await box()).get("seen", job),
  keepJob: async (seen: Seen): Promise<void> => {
    await (await box()).put("seen", seen);
  },
  jobs: async (): Promise<JobSummary[]> =>
    (await (await box()).getAll("seen")).map((seen) => seen.opened.summary),
  fields: async (): Promise<Schema | undefined> => (await box()).get("fields", "schema"),
  keepFields: async (schema: Schema): Promise<void> => {
    await (await box()).put("fields", schema, "schema");
  },
};
