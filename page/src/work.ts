// The job that is open: what was saved, what was changed since, and the nine answers to both together.
// No React in here: the page listens.
import {
  type Answered,
  api,
  type Chances,
  type Difference,
  type Edit,
  type Leaf,
  type Mend,
  type MendsTried,
  mark,
  NoAnswer,
  type Opened,
  type Question,
  Told,
} from "./api";
import { type Told as Answers, Asking } from "./asking";
import { Files, type ShownFile } from "./files";
import { type Beyond, Further, NOTHING } from "./further";
import { IDLE, Long, type LongState } from "./long";
import { memory, outbox } from "./outbox";
import { at, isTable, put, steps } from "./paths";
import { History } from "./plan/history";
import { historyOf, keepHistory } from "./plan/kept";

const SAVE_AFTER_MS = 1500;
const ANSWER_AFTER_MS = 15;
const TRY_AGAIN_MS = 5000;

export interface Frames {
  width: number;
  plan: number;
  section: number;
  /** Whether a wall is drawn whole up to a gutter whose height was measured. */
  whole: boolean;
}

export interface State extends Answers {
  opened: Opened;
  values: Leaf;
  edits: Edit[];
  kept: "kept" | "to keep" | "keeping" | "no signal" | "refused";
  conflict: { head: number; theirs: Difference[] } | null;
  /** Files of the job, with the service or on their way to it. */
  files: ShownFile[];
  /** What lies beyond the nine answers, as far as it has come. */
  beyond: Beyond;
  /** The chance with all unknowns drawn together, where the person asked for it. */
  chance: LongState<Chances>;
  /** What would mend an answer, where the person asked for it. */
  mends: LongState<Mended>;
  /** The change that was taken up last, in words, until the next edit. */
  mended: string;
}

/** Changes tried for the answer to one question. */
export interface Mended {
  question: number;
  rows: Mend[];
  tried: MendsTried | null;
}

function mendsTold(found: Mended | null, name: string, data: Record<string, unknown>): Mended | null {
  if (!found) return found;
  if (name === "mend") return { ...found, rows: [...found.rows, data as unknown as Mend] };
  return name === "tried" ? { ...found, tried: data as unknown as MendsTried } : found;
}

export class Work {
  state: State;
  readonly history = new History();
  readonly files: Files;
  readonly further: Further;
  readonly chance = new Long<Chances>(
    "what lies beyond the design storm",
    (found, name, data) => (name === "chance" ? (data.chance as Chances | null) : found),
    (chance) => this.set({ chance }),
  );
  readonly mends = new Long<Mended>("the first change", mendsTold, (mends) => this.set({ mends }));
  private listeners = new Set<() => void>();
  private page = mark();
  private saveTimer: ReturnType<typeof setTimeout> | undefined;
  private answerTimer: ReturnType<typeof setTimeout> | undefined;
  readonly asking: Asking;
  /** Questions so far: the service knows by it which of two is the newer. */
  private turn = 0;
  private operation: string | null = null;
  private sent = 0;
  private closed = false;
  /** While a first house is asked for, nothing is designed at every key. */
  quiet = false;
  frames: Frames = { width: 900, plan: 340, section: 300, whole: true };

  private constructor(
    opened: Opened,
    readonly who: () => string,
  ) {
    this.state = {
      opened,
      values: opened.values,
      edits: [],
      answered: null,
      stale: true,
      moving: false,
      kept: "kept",
      trouble: "",
      conflict: null,
      files: [],
      beyond: NOTHING,
      chance: IDLE,
      mends: IDLE,
      mended: "",
    };
    this.files = new Files(opened.summary.id, who, () => this.set({ files: this.files.shown }));
    this.asking = new Asking(
      opened.summary.id,
      () => this.question(),
      () => this.state,
      (change) => this.set(change),
      (answered) => {
        this.remember();
        if (answered.designed && !this.closed) this.further.later(answered.fingerprint);
      },
    );
    this.further = new Further(
      opened.summary.id,
      () => this.question(),
      (beyond, answers) => {
        const { answered } = this.state;
        this.set({ beyond, ...(answers && answered ? { answered: { ...answered, answers } } : {}) });
        if (answers) this.remember();
      },
    );
  }

  static async open(job: string, who: () => string): Promise<Work> {
    const { opened, answered } = await openedOrSeen(job);
    const work = new Work(opened, who);
    if (answered) work.set({ answered });
    const waiting = await outbox.get(job).catch(() => undefined);
    if (waiting && waiting.edits.length > 0) {
      work.operation = waiting.operation;
      work.sent = waiting.sent;
      if (waiting.base !== opened.version.number && work.operation === null) {
        const theirs = await api.compare(job, waiting.base, opened.version.number);
        work.set({ conflict: { head: opened.version.number, theirs } });
      }
      work.take(waiting.edits, waiting.base);
    }
    await work.files.open(opened.files ?? []);
    await historyOf(job, work.history, work.state.values);
    work.ask();
    return work;
  }

  private take(edits: Edit[], base: number): void {
    const opened = { ...this.state.opened, version: { ...this.state.opened.version, number: base } };
    let values = this.state.values;
    for (const edit of edits) values = put(values, steps(edit.path), edit.value);
    this.set({ opened, values, edits, kept: "to keep" });
    this.saveLater(0);
  }

  listen = (listener: () => void): (() => void) => {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  };

  private set(change: Partial<State>): void {
    this.state = { ...this.state, ...change };
    for (const listener of this.listeners) listener();
  }

  /** Change one leaf; null takes it out. */
  edit(path: string, value: Leaf): void {
    this.change([{ path, value }], path);
  }

  /** Change several leaves in one step, which `words` name for who takes it back. */
  change(made: Edit[], words: string): void {
    if (made.length === 0) return;
    this.history.add(this.state.values, made, words);
    this.put(made);
  }

  /** Keep a photo for a part or a measurement (`of`: label or key path); it goes out by itself. */
  async attach(photo: Blob, of: string, shows = ""): Promise<string> {
    const name = await this.files.keep(photo);
    const table = at(this.state.values, "attachments");
    let number = 1;
    while (isTable(table) && `F${number}` in table) number++;
    const leaves: Record<string, string> = { file: name, of, shows };
    const path = `attachments.F${number}`;
    const made = Object.entries(leaves).filter(([, value]) => value !== "");
    this.change(
      made.map(([leaf, value]) => ({ path: `${path}.${leaf}`, value })),
      `photo of ${of}`,
    );
    return name;
  }

  /** Draw all unknowns together, once, for what is on the page now. */
  drawChance(): void {
    this.chance.begin(`api/jobs/${this.state.opened.summary.id}/chance`, this.question());
  }

  /** Try single changes for one answer; those of another answer are given up. */
  lookForMends(question: number): void {
    const asked = { ...this.question(), question };
    this.mends.begin(`api/jobs/${this.state.opened.summary.id}/mends`, asked, {
      question,
      rows: [],
      tried: null,
    });
  }

  /** Take a change up that mends: an ordinary edit, taken back like any other. */
  apply(mend: Mend): void {
    this.change(mend.edits, mend.what);
    this.set({ mended: mend.what });
  }

  undo(): void {
    this.put(this.history.back());
  }

  redo(): void {
    this.put(this.history.again());
  }

  private put(made: Edit[]): void {
    if (made.length === 0) return;
    let { edits, values } = this.state;
    for (const edit of made) {
      const merges = edits[edits.length - 1]?.path === edit.path && edits.length > this.sent;
      edits = [...(merges ? edits.slice(0, -1) : edits), edit];
      values = put(values, steps(edit.path), edit.value);
    }
    this.set({ values, edits, kept: "to keep", stale: true, mended: "" });
    this.further.drop();
    this.chance.drop();
    this.mends.drop();
    void this.keepHere();
    void keepHistory(this.state.opened.summary.id, this.history, values);
    this.saveLater(SAVE_AFTER_MS);
    clearTimeout(this.answerTimer);
    this.answerTimer = setTimeout(() => this.ask(), ANSWER_AFTER_MS);
  }

  private keepHere(): Promise<void> {
    const { opened, edits } = this.state;
    const waiting = {
      job: opened.summary.id,
      base: opened.version.number,
      edits,
      operation: this.operation,
      sent: this.sent,
    };
    return outbox
      .put(waiting)
      .catch(() =>
        this.set({ trouble: "This browser cannot keep edits by itself; save before you close it." }),
      );
  }

  private saveLater(ms: number): void {
    clearTimeout(this.saveTimer);
    if (!this.closed) this.saveTimer = setTimeout(() => void this.save(), ms);
  }

  async save(): Promise<void> {
    const { opened, edits, conflict } = this.state;
    if (edits.length === 0 || conflict || this.state.kept === "keeping") return;
    if (this.operation === null) {
      this.operation = mark();
      this.sent = edits.length;
      await this.keepHere();
    }
    this.set({ kept: "keeping" });
    const id = opened.summary.id;
    try {
      const body = {
        base: opened.version.number,
        edits: edits.slice(0, this.sent),
        who: this.who(),
        operation: this.operation,
      };
      const saved = await api.save(id, body);
      await this.acknowledged(saved.number);
    } catch (error) {
      await this.notSaved(error);
    }
  }

  private async acknowledged(number: number): Promise<void> {
    const left = this.state.edits.slice(this.sent);
    let values: Leaf = this.state.opened.values;
    for (const edit of this.state.edits.slice(0, this.sent))
      values = put(values, steps(edit.path), edit.value);
    const opened = {
      ...this.state.opened,
      values: values as Opened["values"],
      version: { ...this.state.opened.version, number },
    };
    this.operation = null;
    this.sent = 0;
    this.set({ opened, edits: left, kept: left.length ? "to keep" : "kept", trouble: "" });
    if (left.length) {
      await this.keepHere();
      this.saveLater(SAVE_AFTER_MS);
    } else {
      await outbox.done(opened.summary.id).catch(() => undefined);
    }
    this.remember();
  }

  private async notSaved(error: unknown): Promise<void> {
    const { opened } = this.state;
    if (error instanceof Told && error.code === "saved-meanwhile") {
      const newest = await api.open(opened.summary.id);
      const theirs = await api.compare(opened.summary.id, opened.version.number, newest.version.number);
      this.operation = null;
      this.sent = 0;
      this.set({ conflict: { head: newest.version.number, theirs }, kept: "to keep", trouble: "" });
    } else if (error instanceof NoAnswer) {
      this.set({ kept: "no signal" });
      this.saveLater(TRY_AGAIN_MS);
    } else {
      this.operation = null;
      this.sent = 0;
      this.set({ kept: "refused", trouble: error instanceof Error ? error.message : "not kept" });
    }
  }

  /** Both changed the job: put my edits on theirs, or take theirs and drop mine. */
  async settle(mine: boolean): Promise<void> {
    const { opened, edits, conflict } = this.state;
    if (!conflict) return;
    const newest = await api.open(opened.summary.id);
    let values: Leaf = newest.values;
    if (!mine) this.history.clear();
    if (mine) for (const edit of edits) values = put(values, steps(edit.path), edit.value);
    this.operation = null;
    this.sent = 0;
    this.set({
      opened: newest,
      values,
      edits: mine ? edits : [],
      conflict: null,
      kept: mine ? "to keep" : "kept",
      stale: true,
    });
    if (mine) {
      await this.keepHere();
      this.saveLater(0);
    } else {
      await outbox.done(newest.summary.id).catch(() => undefined);
    }
    this.ask();
  }

  /** What the service is asked about: the last version kept, with the edits since. */
  question(): Question {
    const { opened, edits } = this.state;
    return {
      base: opened.version.number,
      edits,
      page: this.page,
      width: this.frames.width,
      plan_height: this.frames.plan,
      section_height: this.frames.section,
      whole: this.frames.whole,
      turn: ++this.turn,
    };
  }

  /** Ask for the nine answers to what is on the page now; an older question is dropped. */
  ask(): void {
    if (this.closed || this.quiet) return;
    this.further.drop();
    this.asking.ask();
  }

  /** Answer at once to something that is still being dragged; null: it was let go where it had been. */
  follow(edits: Edit[] | null): void {
    if (this.closed || this.quiet) return;
    this.further.drop();
    if (edits) this.asking.follow(edits);
    else this.asking.putBack();
  }

  private remember(): void {
    const { opened, answered } = this.state;
    memory.keepJob({ job: opened.summary.id, opened, answered }).catch(() => undefined);
  }

  /** Go back to the network at once, when the browser says that there is one. */
  retry(): void {
    if (this.state.edits.length) this.saveLater(0);
    void this.files.send();
    if (this.state.stale) this.ask();
  }

  close(): void {
    this.closed = true;
    clearTimeout(this.answerTimer);
    this.asking.stop();
    this.files.close();
    this.further.drop();
    this.chance.drop();
    this.mends.drop();
    void this.save();
  }
}

/** Open a job from the service, or as it was seen last where the service does not answer. */
async function openedOrSeen(job: string): Promise<{ opened: Opened; answered: Answered | null }> {
  try {
    return { opened: await api.open(job), answered: null };
  } catch (error) {
    const seen = error instanceof NoAnswer ? await memory.job(job).catch(() => undefined) : undefined;
    if (!seen) throw error;
    return seen;
  }
}
