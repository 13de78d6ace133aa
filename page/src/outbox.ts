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

/** A file that waits for the service: its mark makes it count once however often it is sent. */
export interface WaitingFile {
  operation: string;
  job: string;
  name: string;
  bytes: ArrayBuffer;
  type: string;
  replace: boolean;
  who: string;
  /** In words, why the service does not take it; it stays here until somebody takes it out. */
  refused: string;
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
  files: { key: string; value: WaitingFile; indexes: { job: string } };
}

let opened: Promise<IDBPDatabase<Boxes>> | null = null;

function box(): Promise<IDBPDatabase<Boxes>> {
  opened ??= openDB<Boxes>("roofwell", 3, {
    upgrade: (db) => {
      if (!db.objectStoreNames.contains("waiting")) db.createObjectStore("waiting", { keyPath: "job" });
      if (!db.objectStoreNames.contains("seen")) db.createObjectStore("seen", { keyPath: "job" });
      if (!db.objectStoreNames.contains("fields")) db.createObjectStore("fields");
      if (!db.objectStoreNames.contains("files"))
        db.createObjectStore("files", { keyPath: "operation" }).createIndex("job", "job");
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

export const waitingFiles = {
  of: async (job: string): Promise<WaitingFile[]> => (await box()).getAllFromIndex("files", "job", job),
  put: async (file: WaitingFile): Promise<void> => {
    await (await box()).put("files", file);
  },
  done: async (operation: string): Promise<void> => (await box()).delete("files", operation),
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
