// What a plan keeps in this browser: how to take steps back, and the picture that is traced over.
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Leaf } from "../api";
import { fingerprint, type History, type Step } from "./history";
import type { Placing } from "./picture";

interface KeptHistory {
  job: string;
  /** Mark of the values that the steps lead away from; another document has another history. */
  values: string;
  past: Step[];
  future: Step[];
}

export interface KeptPicture {
  job: string;
  name: string;
  image: Blob;
  placing: Placing;
}

interface Boxes extends DBSchema {
  history: { key: string; value: KeptHistory };
  pictures: { key: string; value: KeptPicture };
}

let opened: Promise<IDBPDatabase<Boxes>> | null = null;

function box(): Promise<IDBPDatabase<Boxes>> {
  opened ??= openDB<Boxes>("roofwell-plan", 1, {
    upgrade: (db) => {
      db.createObjectStore("history", { keyPath: "job" });
      db.createObjectStore("pictures", { keyPath: "job" });
    },
  });
  return opened;
}

/** Keep the steps; a browser that keeps nothing just forgets them with the page. */
export async function keepHistory(job: string, history: History, values: Leaf): Promise<void> {
  const { past, future } = history;
  const kept = { job, values: fingerprint(values), past: [...past], future: [...future] };
  await box()
    .then((db) => db.put("history", kept))
    .catch(() => undefined);
}

/** Bring back the steps of a job, where it still stands as they left it. */
export async function historyOf(job: string, history: History, values: Leaf): Promise<void> {
  const kept = await box()
    .then((db) => db.get("history", job))
    .catch(() => undefined);
  if (kept?.values !== fingerprint(values)) return;
  history.past = kept.past;
  history.future = kept.future;
}

export const pictures = {
  get: async (job: string): Promise<KeptPicture | undefined> =>
    box()
      .then((db) => db.get("pictures", job))
      .catch(() => undefined),
  put: async (picture: KeptPicture): Promise<boolean> =>
    box()
      .then((db) => db.put("pictures", picture))
      .then(
        () => true,
        () => false,
      ),
  drop: async (job: string): Promise<void> => {
    await box()
      .then((db) => db.delete("pictures", job))
      .catch(() => undefined);
  },
};
