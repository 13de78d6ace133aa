// Edits go here first, and leave only when the service says that it has them.
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Edit } from "./api";

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

interface Boxes extends DBSchema {
  waiting: { key: string; value: Waiting };
}

let opened: Promise<IDBPDatabase<Boxes>> | null = null;

function box(): Promise<IDBPDatabase<Boxes>> {
  opened ??= openDB<Boxes>("roofwell", 1, {
    upgrade: (db) => {
      db.createObjectStore("waiting", { keyPath: "job" });
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
