import { describe, expect, it } from "vitest";
import cases from "../../tests/data/key_paths.json";
import { at, join, put, steps } from "./paths";

describe("key paths, as the service reads and writes them (the same cases are held against Python)", () => {
  for (const one of cases) {
    it(one.text, () => {
      expect(steps(one.text)).toEqual(one.steps);
      expect(one.steps.reduce<string>((path, step) => join(path, step), "")).toBe(one.text);
    });
  }
});

describe("values", () => {
  it("are set without touching what was", () => {
    const before = { soil: { rate: "1 in/h" }, survey: { readings: [{ rod: "4 ft" }] } };
    const after = put(before, steps("survey.readings[0].rod"), "5 ft");
    expect(at(after, "survey.readings[0].rod")).toBe("5 ft");
    expect(at(before, "survey.readings[0].rod")).toBe("4 ft");
  });
  it("are taken out by null", () => {
    expect(put({ soil: { rate: "1 in/h", texture: "loam" } }, steps("soil.rate"), null)).toEqual({
      soil: { texture: "loam" },
    });
  });
  it("grow tables on the way", () => {
    expect(put({}, steps("wells.W1.bodies"), 2)).toEqual({ wells: { W1: { bodies: 2 } } });
  });
});
