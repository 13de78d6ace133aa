// What lies beyond the nine answers: asked for when nobody has edited for a moment, part by part, and stopped by the next edit.
import { type Answer, type BeyondTable, NoAnswer, type Question, type YearsTable } from "./api";
import { stream } from "./stream";

const AFTER_MS = 700;

export interface Beyond {
  /** What is being worked out, in words; empty when nothing is. */
  words: string;
  years: YearsTable | null;
  beyond: BeyondTable | null;
  done: boolean;
  /** The person stopped it. */
  stopped: boolean;
  trouble: string;
}

export const NOTHING: Beyond = {
  words: "",
  years: null,
  beyond: null,
  done: false,
  stopped: false,
  trouble: "",
};

export class Further {
  state: Beyond = NOTHING;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private running: AbortController | null = null;
  private of = "";

  constructor(
    private readonly job: string,
    private readonly question: () => Question,
    private readonly changed: (state: Beyond, answers: Answer[] | null) => void,
  ) {}

  /** Begin when the answers have stood for a moment; what belongs to another document is dropped. */
  later(fingerprint: string): void {
    this.drop();
    if (fingerprint !== this.of) this.put(NOTHING);
    this.of = fingerprint;
    this.timer = setTimeout(() => this.begin(), AFTER_MS);
  }

  begin(): void {
    this.drop();
    const running = new AbortController();
    this.running = running;
    this.put({ words: "what lies beyond the design storm", done: false });
    stream(`api/jobs/${this.job}/beyond`, this.question(), running.signal, (name, data) => {
      if (running.signal.aborted) return;
      if (name === "progress") this.put({ words: String(data.words) });
      else if (name === "years") this.put({ years: data.years as YearsTable | null });
      else if (name === "beyond")
        this.put({ beyond: data.beyond as BeyondTable | null }, data.answers as Answer[]);
      else if (name === "done") this.put({ words: "", done: true });
      else if (name === "failed") this.put({ words: "", trouble: String(data.message) });
      else if (name === "outdated") this.put({ words: "" });
    }).catch((error: unknown) => {
      if (running.signal.aborted) return;
      const trouble = error instanceof NoAnswer ? "" : "It could not be worked out.";
      this.put({ words: "", trouble });
    });
  }

  /** The person does not want to wait for it. */
  stop(): void {
    this.drop();
    this.put({ words: "", stopped: true });
  }

  /** An edit: what was told belongs to the document of before. */
  drop(): void {
    clearTimeout(this.timer);
    this.running?.abort();
    this.running = null;
    if (this.state.words) this.put({ words: "" });
  }

  private put(change: Partial<Beyond>, answers: Answer[] | null = null): void {
    this.state = { ...this.state, stopped: false, trouble: "", ...change };
    this.changed(this.state, answers);
  }
}
