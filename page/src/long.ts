// Long work that the person asked for: it says how far it is, can be stopped, and the next edit throws it away.
import { NoAnswer } from "./api";
import { stream } from "./stream";

export interface LongState<T> {
  /** What is being worked out, in words; empty when nothing is. */
  words: string;
  /** What has come so far; null before it was asked for, and after an edit. */
  found: T | null;
  done: boolean;
  /** The person stopped it. */
  stopped: boolean;
  /** An edit threw away what had come, or what was on its way. */
  dropped: boolean;
  trouble: string;
}

export const IDLE: LongState<never> = {
  words: "",
  found: null,
  done: false,
  stopped: false,
  dropped: false,
  trouble: "",
};

export class Long<T> {
  state: LongState<T> = IDLE;
  private running: AbortController | null = null;

  /** `took`: what has come, with one more event of the service. */
  constructor(
    private readonly began: string,
    private readonly took: (found: T | null, name: string, data: Record<string, unknown>) => T | null,
    private readonly changed: (state: LongState<T>) => void,
  ) {}

  begin(url: string, body: unknown, from: T | null = null): void {
    this.running?.abort();
    const running = new AbortController();
    this.running = running;
    this.put({ ...IDLE, words: this.began, found: from });
    stream(url, body, running.signal, (name, data) => {
      if (running.signal.aborted) return;
      if (name === "progress") this.put({ words: String(data.words) });
      else if (name === "done") this.put({ words: "", done: true });
      else if (name === "failed") this.put({ words: "", trouble: String(data.message) });
      else if (name === "outdated") this.drop();
      else this.put({ found: this.took(this.state.found, name, data) });
    })
      .then(() => {
        // the service was ended in mid-stream
        if (!running.signal.aborted && this.state.words)
          this.put({ words: "", trouble: "It could not be worked out." });
      })
      .catch((error: unknown) => {
        if (running.signal.aborted) return;
        const trouble =
          error instanceof NoAnswer ? "No signal: it was not worked out." : "It could not be worked out.";
        this.put({ words: "", trouble });
      });
  }

  /** The person does not want to wait for it; what has come stays. */
  stop(): void {
    this.running?.abort();
    this.running = null;
    this.put({ words: "", stopped: true });
  }

  /** An edit: what was told, or on its way, belongs to the document of before. */
  drop(): void {
    this.running?.abort();
    this.running = null;
    const { words, found, stopped, dropped } = this.state;
    if (words || found || stopped) this.put({ ...IDLE, dropped: true });
    else if (!dropped) this.put(IDLE);
  }

  private put(change: Partial<LongState<T>>): void {
    this.state = { ...this.state, ...change };
    this.changed(this.state);
  }
}
