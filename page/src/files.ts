// Files on their way to the service: they wait in the browser and leave it when the service has them. Each goes once.
import { api, fileUrl, mark, NoAnswer, type StoredFile, Told } from "./api";
import { type WaitingFile, waitingFiles } from "./outbox";
import { photoName, readied } from "./photos";

const TRY_AGAIN_MS = 5000;

/** A file of the job as the page shows it: with the service, or waiting here. */
export interface ShownFile {
  name: string;
  /** Where an `<img>` or a link finds it. */
  url: string;
  waiting: boolean;
  /** In words, why the service does not take it. */
  refused: string;
}

export class Files {
  shown: ShownFile[] = [];
  private waiting: WaitingFile[] = [];
  private kept: StoredFile[] = [];
  private urls = new Map<string, string>();
  private sending = false;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private closed = false;

  constructor(
    readonly job: string,
    private readonly who: () => string,
    private readonly changed: () => void,
  ) {}

  async open(kept: StoredFile[]): Promise<void> {
    this.kept = kept;
    this.waiting = await waitingFiles.of(this.job).catch(() => []);
    this.tell();
    void this.send();
  }

  /** Keep a file for the job and send it when it goes; returns the name that the document uses for it. */
  async keep(file: Blob, name = "", replace = false): Promise<string> {
    const operation = mark();
    const { bytes, type } = await readied(file);
    const day = new Date().toISOString().slice(0, 10);
    const called = name
      ? type === "image/jpeg"
        ? name.replace(/\.(png|webp|heic|heif)$/i, ".jpg")
        : name
      : photoName(type, operation, day);
    const waits = {
      operation,
      job: this.job,
      name: called,
      bytes,
      type,
      replace,
      who: this.who(),
      refused: "",
    };
    this.waiting = [...this.waiting.filter((one) => one.name !== called), waits];
    await waitingFiles.put(waits).catch(() => undefined); // a browser that keeps nothing still sends it
    this.tell();
    void this.send();
    return called;
  }

  /** Take a file out of the job, or out of the queue. Versions of before keep theirs. */
  async drop(name: string): Promise<void> {
    const mine = this.waiting.filter((one) => one.name === name);
    this.waiting = this.waiting.filter((one) => one.name !== name);
    for (const one of mine) await waitingFiles.done(one.operation).catch(() => undefined);
    if (this.kept.some((one) => one.name === name)) {
      await api.takeFileAway(this.job, name).catch((error: unknown) => {
        if (!(error instanceof Told && error.code === "file-unknown")) throw error;
      });
      this.kept = this.kept.filter((one) => one.name !== name);
    }
    this.tell();
  }

  /** Where a file of that name is found now; empty where there is none. */
  url(name: string): string {
    return this.shown.find((one) => one.name === name)?.url ?? "";
  }

  /** Send what waits, one after the other. */
  async send(): Promise<void> {
    if (this.sending || this.closed) return;
    this.sending = true;
    clearTimeout(this.timer);
    this.timer = undefined;
    for (const one of this.waiting.filter((each) => !each.refused)) {
      try {
        const put = await api.putFile(this.job, one);
        await waitingFiles.done(one.operation).catch(() => undefined);
        this.waiting = this.waiting.filter((each) => each.operation !== one.operation);
        this.kept = [...this.kept.filter((each) => each.name !== put.file.name), put.file];
      } catch (error) {
        if (error instanceof NoAnswer) {
          if (!this.closed) this.timer = setTimeout(() => void this.send(), TRY_AGAIN_MS);
          break;
        }
        const refused = { ...one, refused: error instanceof Error ? error.message : "not taken" };
        this.waiting = this.waiting.map((each) => (each.operation === one.operation ? refused : each));
        await waitingFiles.put(refused).catch(() => undefined);
      }
      this.tell();
    }
    this.sending = false;
    if (this.waiting.some((one) => !one.refused) && !this.closed && !this.timer) void this.send();
  }

  close(): void {
    this.closed = true;
    clearTimeout(this.timer);
    for (const url of this.urls.values()) URL.revokeObjectURL(url);
  }

  private tell(): void {
    const waiting = this.waiting.map((one) => ({
      name: one.name,
      url: this.local(one),
      waiting: true,
      refused: one.refused,
    }));
    const names = new Set(waiting.map((one) => one.name));
    const kept = this.kept
      .filter((one) => !names.has(one.name))
      .map((one) => ({ name: one.name, url: fileUrl(this.job, one.name), waiting: false, refused: "" }));
    this.shown = [...kept, ...waiting].sort((a, b) => (a.name < b.name ? -1 : 1));
    this.changed();
  }

  private local(one: WaitingFile): string {
    const known = this.urls.get(one.operation);
    if (known) return known;
    const url = URL.createObjectURL(new Blob([one.bytes], { type: one.type }));
    this.urls.set(one.operation, url);
    return url;
  }
}
