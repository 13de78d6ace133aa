import { afterEach, expect, test, vi } from "vitest";
import { IDLE, Long, type LongState } from "./long";

/** A service that tells event after event, when it is let. */
function service() {
  let tell: (text: string) => void = () => undefined;
  let end: () => void = () => undefined;
  let gone = false;
  vi.stubGlobal("fetch", (_: string, init: RequestInit) => {
    const body = new ReadableStream<Uint8Array>({
      start(control) {
        tell = (text) => control.enqueue(new TextEncoder().encode(text));
        end = () => control.close();
        init.signal?.addEventListener("abort", () => {
          gone = true;
          control.error(new DOMException("stopped", "AbortError"));
        });
      },
    });
    return Promise.resolve(new Response(body, { status: 200 }));
  });
  return {
    event: async (name: string, data: unknown) => {
      tell(`event: ${name}\ndata: ${JSON.stringify(data)}\n\n`);
      await settled();
    },
    end: async () => {
      end();
      await settled();
    },
    left: () => gone,
  };
}

const settled = () => new Promise((done) => setTimeout(done, 5));

function counting() {
  const seen: LongState<number>[] = [];
  const long = new Long<number>(
    "the first one",
    (found, name, data) => (name === "one" ? (found ?? 0) + Number(data.by) : found),
    (state) => seen.push(state),
  );
  return { long, seen };
}

afterEach(() => vi.unstubAllGlobals());

test("it says how far it is, keeps what comes, and is done", async () => {
  const from = service();
  const { long } = counting();
  long.begin("x", {});
  expect(long.state).toEqual({ ...IDLE, words: "the first one" });
  await settled();
  await from.event("progress", { words: "two of three" });
  expect(long.state.words).toBe("two of three");
  await from.event("one", { by: 3 });
  await from.event("one", { by: 4 });
  await from.event("done", {});
  expect(long.state).toEqual({ ...IDLE, found: 7, done: true });
});

test("stopped, what has come stays, and the service hears of it", async () => {
  const from = service();
  const { long } = counting();
  long.begin("x", {});
  await settled();
  await from.event("one", { by: 3 });
  long.stop();
  expect(long.state).toEqual({ ...IDLE, found: 3, stopped: true });
  await settled();
  expect(from.left()).toBe(true);
  expect(long.state.trouble).toBe("");
});

test("an edit throws away what has come and what is on its way, and says so once", async () => {
  const from = service();
  const { long, seen } = counting();
  long.drop();
  expect(long.state).toEqual(IDLE);
  long.begin("x", {});
  await settled();
  await from.event("one", { by: 3 });
  long.drop();
  expect(long.state).toEqual({ ...IDLE, dropped: true });
  await settled();
  expect(from.left()).toBe(true);
  const told = seen.length;
  long.drop();
  expect(long.state.dropped).toBe(true);
  expect(seen.length).toBe(told);
});

test("outdated at the service is thrown away like an edit of one's own", async () => {
  const from = service();
  const { long } = counting();
  long.begin("x", {});
  await settled();
  await from.event("one", { by: 3 });
  await from.event("outdated", {});
  expect(long.state).toEqual({ ...IDLE, dropped: true });
});

test("a service that ends in the middle is told", async () => {
  const from = service();
  const { long } = counting();
  long.begin("x", {});
  await settled();
  await from.event("one", { by: 3 });
  await from.end();
  expect(long.state).toEqual({ ...IDLE, found: 3, trouble: "It could not be worked out." });
});
