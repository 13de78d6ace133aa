import { expect, test } from "vitest";
import { photoName } from "./photos";
import { read } from "./stream";

// The form of the events is that of the HTML standard, section "Server-sent events".
test("events are cut where a blank line ends them, and a comment is none", () => {
  const { events, rest } = read(
    'event: progress\ndata: {"words":"a"}\n\n: still at it\n\nevent: done\ndata: {}\n\nevent: ye',
  );
  expect(events).toEqual([
    { name: "progress", data: { words: "a" } },
    { name: "done", data: {} },
  ]);
  expect(rest).toBe("event: ye");
});

test("an event that comes in pieces is one event", () => {
  const whole = 'event: years\ndata: {"years":{"care":["x\\n\\ny"]}}\n\n';
  for (let cut = 0; cut <= whole.length; cut++) {
    const first = read(whole.slice(0, cut));
    const second = read(first.rest + whole.slice(cut));
    expect([...first.events, ...second.events]).toEqual([
      { name: "years", data: { years: { care: ["x\n\ny"] } } },
    ]);
  }
});

test("two photos that the phone calls the same have two names", () => {
  expect(photoName("image/jpeg", "0123456789abcdef", "2026-05-01")).toBe("photos/2026-05-01-01234567.jpg");
  expect(photoName("image/heic", "89abcdef01234567", "2026-05-01")).toBe("photos/2026-05-01-89abcdef.heic");
});
