import { afterEach, expect, test, vi } from "vitest";
import type { Edit, Question } from "./api";
import { Asking, type Told } from "./asking";

/** A service that answers what it is asked for when it is let; `asked`: the bodies, in their order. */
function service() {
  const asked: { edits: Edit[]; moving: boolean; turn: number }[] = [];
  const lines: { tell: (name: string, data: unknown) => void; end: () => void; left: boolean }[] = [];
  vi.stubGlobal("fetch", (_: string, init: RequestInit) => {
    asked.push(JSON.parse(String(init.body)));
    const line = { tell: (_n: string, _d: unknown) => {}, end: () => {}, left: false };
    const body = new ReadableStream<Uint8Array>({
      start(control) {
        line.tell = (name, data) =>
          control.enqueue(new TextEncoder().encode(`event: ${name}\ndata: ${JSON.stringify(data)}\n\n`));
        line.end = () => control.close();
        init.signal?.addEventListener("abort", () => {
          line.left = true;
          control.error(new DOMException("stopped", "AbortError"));
        });
      },
    });
    lines.push(line);
    return Promise.resolve(new Response(body, { status: 200 }));
  });
  const settled = () => new Promise((done) => setTimeout(done, 5));
  return {
    asked,
    lines,
    settled,
    tell: async (i: number, name: string, data: unknown) => {
      lines[i]?.tell(name, data);
      await settled();
    },
    end: async (i: number) => {
      lines[i]?.end();
      await settled();
    },
  };
}

function page() {
  let told: Told = { answered: null, stale: true, moving: false, trouble: "" };
  let turn = 0;
  const whole: unknown[] = [];
  const question = () => ({ base: 1, page: "p", edits: [], turn: ++turn }) as unknown as Question;
  const asking = new Asking(
    "J",
    question,
    () => told,
    (change) => {
      told = { ...told, ...change };
    },
    (answered) => whole.push(answered),
  );
  return { asking, whole, told: () => told };
}

const to = (place: string): Edit[] => [{ path: "wells.W1.at", value: place }];

afterEach(() => vi.unstubAllGlobals());

test("an answer at once keeps drawings and designed values until the whole one comes", async () => {
  const from = service();
  const { asking, told, whole } = page();
  asking.ask();
  await from.settled();
  await from.tell(0, "answers", { held: false, views: ["drawn"], designed_values: { a: 1 } });
  await from.end(0);
  expect(told()).toMatchObject({ stale: false, moving: false });
  asking.ask();
  await from.settled();
  await from.tell(1, "at_once", { held: true, views: [], designed_values: {} });
  expect(told().answered).toMatchObject({ held: true, views: ["drawn"], designed_values: { a: 1 } });
  await from.tell(1, "answers", { held: false, views: ["anew"], designed_values: { a: 2 } });
  expect(told().answered).toMatchObject({ held: false, views: ["anew"], designed_values: { a: 2 } });
  expect(whole).toHaveLength(2);
});

test("while something is dragged one place is asked for at a time, and next the newest", async () => {
  const from = service();
  const { asking, told } = page();
  asking.follow(to("first"));
  asking.follow(to("second"));
  asking.follow(to("third"));
  await from.settled();
  expect(from.asked.map((one) => [one.moving, one.edits[0]?.value])).toEqual([[true, "first"]]);
  await from.tell(0, "at_once", { held: true });
  await from.tell(0, "done", {});
  await from.end(0);
  expect(from.asked.map((one) => one.edits[0]?.value)).toEqual(["first", "third"]);
  expect(told()).toMatchObject({ stale: true, moving: true });
  asking.ask(); // let go: the edit itself
  await from.settled();
  expect(from.lines[1]?.left).toBe(true);
  await from.end(2);
  expect(from.asked.map((one) => one.moving)).toEqual([true, true, false]);
});

test("put back, all is asked for as it was; where nothing was dragged nothing is asked", async () => {
  const from = service();
  const { asking, told } = page();
  asking.putBack();
  await from.settled();
  expect(from.asked).toHaveLength(0);
  asking.follow(to("elsewhere"));
  asking.putBack();
  await from.settled();
  expect(from.asked.map((one) => [one.moving, one.edits.length])).toEqual([
    [true, 1],
    [false, 0],
  ]);
  await from.tell(1, "answers", { held: false });
  expect(told()).toMatchObject({ stale: false, moving: false });
});

test("a page that the service forgot asks again, once nobody else has", async () => {
  const from = service();
  const { asking } = page();
  asking.ask();
  await from.settled();
  await from.tell(0, "outdated", {});
  await from.end(0);
  await new Promise((done) => setTimeout(done, 350));
  expect(from.asked.map((one) => one.turn)).toEqual([1, 2]);
});
