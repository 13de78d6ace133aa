// The questions of an open job: an edit is answered at once, then whole; what is being dragged at once alone, one place at
// a time, the newest next.
import { type Answered, type Edit, NoAnswer, type Question, type View } from "./api";
import { stream } from "./stream";

const AGAIN_MS = 300;

/** What there is of the answers. */
export interface Told {
  answered: Answered | null;
  /** The whole answer to the last edit has not come: what stands here is older, or was answered at once (`answered.held`). */
  stale: boolean;
  /** Something is being dragged: `answered` follows it, and belongs to no edit yet. */
  moving: boolean;
  /** In words, why the last answer or save did not come. */
  trouble: string;
}

interface Asked {
  stop: AbortController;
  moving: boolean;
  /** All has come, or nothing will. */
  over: boolean;
}

export class Asking {
  /** The long section that is in sight: it follows a drag too. */
  section = "";
  private last: Asked | null = null;
  /** What is dragged has moved on while its last place is being answered. */
  private waiting: Edit[] | null = null;

  constructor(
    private readonly job: string,
    private readonly question: () => Question,
    private readonly now: () => Told,
    private readonly set: (change: Partial<Told>) => void,
    private readonly whole: (answered: Answered) => void,
  ) {}

  /** Ask for the nine answers to what is on the page now; an older question is dropped. */
  ask(): void {
    this.waiting = null;
    this.begin(this.question(), false);
  }

  /** Answer at once to something that is still being dragged: edits that nobody has made yet. */
  follow(edits: Edit[]): void {
    if (this.last?.moving && !this.last.over) {
      this.waiting = edits;
      return;
    }
    this.waiting = null;
    const question = this.question();
    this.set({ moving: true, stale: true });
    this.begin({ ...question, edits: [...question.edits, ...edits] }, true);
  }

  /** What was dragged was let go where it had been. */
  putBack(): void {
    this.waiting = null;
    if (this.now().moving) this.ask();
  }

  stop(): void {
    this.waiting = null;
    this.last?.stop.abort();
  }

  private begin(question: Question, moving: boolean): void {
    this.last?.stop.abort();
    const mine: Asked = { stop: new AbortController(), moving, over: false };
    this.last = mine;
    stream(
      `api/jobs/${this.job}/live`,
      { ...question, moving, section: this.section },
      mine.stop.signal,
      (name, data) => {
        if (!mine.stop.signal.aborted) this.heard(name, data, mine);
      },
    )
      .catch((error: unknown) => {
        if (mine.stop.signal.aborted) return;
        const away = error instanceof NoAnswer;
        this.set({
          trouble: away ? "No signal: the answers are those of before." : String((error as Error).message),
        });
      })
      .finally(() => {
        mine.over = true;
        if (this.last === mine && this.waiting) this.follow(this.waiting);
      });
  }

  private heard(name: string, data: Record<string, unknown>, mine: Asked): void {
    const before = this.now().answered;
    if (name === "at_once") {
      // what it does not bring, drawings and designed values, are those of before
      const kept = { views: before?.views ?? [], designed_values: before?.designed_values ?? {} };
      this.set({ answered: { ...(data as unknown as Answered), ...kept }, trouble: "" });
    } else if (name === "drawn" && before) {
      const drawn = data.view as View;
      const views = before.views.map((one) => (one.name === drawn.name ? drawn : one));
      this.set({ answered: { ...before, views } });
    } else if (name === "answers") {
      const answered = data as unknown as Answered;
      this.set({ answered, stale: false, moving: false, trouble: "" });
      this.whole(answered);
    } else if (name === "failed") this.set({ trouble: String(data.message) });
    else if (name === "outdated" && !mine.moving)
      // nobody has asked since, so the service forgot this page
      setTimeout(() => {
        if (this.last === mine) this.ask();
      }, AGAIN_MS);
  }
}
