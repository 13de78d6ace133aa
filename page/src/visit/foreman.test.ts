import { describe, expect, it } from "vitest";
import books from "../../../tests/data/level_books.json";
import type { Leaf, Table } from "../api";
import { fallRate, knownLevels, levels, otherWay, showLevel, slopePercent } from "./foreman";

describe("worked level books (the same are held against Python; each names where it was seen)", () => {
  for (const book of books) {
    it(book.source, () => {
      const known = book.known as unknown as Record<string, number>;
      const found = levels(book.readings as Leaf, known, book.unit as "ft" | "m");
      expect(found).toHaveLength(book.readings.length);
      for (const [point, elevation] of Object.entries(book.elevations))
        expect(found.find((level) => level.point === point)?.elevation).toBeCloseTo(elevation as number, 9);
      expect([...new Set(found.map((level) => level.height))]).toEqual(book.heights);
    });
  }
});

describe("a level book in the making", () => {
  const reading = (setup: string, kind: string, point: string, rod: Leaf, at?: Leaf): Table => ({
    setup,
    kind,
    point,
    ...(rod === null ? {} : { rod }),
    ...(at ? { at } : {}),
  });
  it("feet and inches count like decimals (by hand: 104.35 − 7′ 1 13/16″ is a hair over 97.20)", () => {
    const book = [reading("S1", "backsight", "BM", "4.35 ft"), reading("S1", "shot", "pipe", "7' 1 13/16\"")];
    const [back, shot] = levels(book, { BM: 100 }, "ft");
    expect(back?.height).toBe(104.35);
    expect(shot?.elevation).toBeCloseTo(97.199, 3);
  });
  it("says the slope since the shot before where both places are known (by hand: 0.25 ft over 3-4-5)", () => {
    const book = [
      reading("S1", "backsight", "BM", "4 ft"),
      reading("S1", "shot", "a", "5 ft", ["0 ft", "0 ft"]),
      reading("S1", "shot", "b", "5.25 ft", ["3 ft", "4 ft"]),
    ];
    const last = levels(book, { BM: 100 }, "ft").at(-1);
    expect([last?.fall, last?.away]).toEqual([0.25, 5]);
    expect(slopePercent(0.25, 5)).toBe(5);
    expect(slopePercent(1, 0)).toBeNull();
  });
  it("takes no slope to or from a point that is not on the ground", () => {
    const book = [
      reading("S1", "backsight", "BM", "4 ft"),
      reading("S1", "shot", "a", "5 ft"),
      { ...reading("S1", "shot", "sill", "3 ft"), ground: false },
      reading("S1", "shot", "b", "5.5 ft"),
    ];
    const [, , sill, b] = levels(book, { BM: 100 }, "ft");
    expect([sill?.fall, b?.from, b?.fall]).toEqual([null, "a", 0.5]);
  });
  it("leaves out what cannot be read, and a set-up without a backsight", () => {
    const book = [
      reading("S1", "shot", "a", "5 ft"),
      reading("S2", "backsight", "BM", "4 ft"),
      reading("S2", "shot", "b", "five"),
      reading("S2", "shot", "c", null),
      reading("S2", "shot", "d", "1 ft"),
    ];
    expect(levels(book, { BM: 100 }, "ft").map((level) => level.point)).toEqual(["BM", "d"]);
    expect(levels(undefined, {}, "ft")).toEqual([]);
  });
  it("knows the benchmark, given points, and a benchmark that nobody named", () => {
    const points = [{ id: "curb", elevation: "98.1 ft" }];
    expect(knownLevels({ benchmark: "BM", benchmark_elevation: "100 ft", points }, "ft")).toEqual({
      BM: 100,
      curb: 98.1,
    });
    expect(knownLevels({ readings: [reading("S1", "backsight", "step", "4 ft")] }, "ft")).toEqual({
      step: 100,
    });
  });
});

describe("a falling level", () => {
  // 12 in in 36 h is 0.33 in/h: a watershed group's rule for a hole that empties twice (recomputed in the trade notes)
  it("12 in in 36 h is a third of an inch an hour", () => {
    expect(fallRate(0, 1, 36 * 3600, "ft")?.value).toBeCloseTo(1 / 3, 12);
  });
  // "an inch in three minutes" is 20 in/h
  it("an inch in three minutes is 20 in an hour", () => {
    expect(fallRate(2, 2 + 1 / 12, 180, "ft")?.value).toBeCloseTo(20, 9);
  });
  it("150 mm in half an hour is 300 mm an hour", () => {
    expect(fallRate(0.4, 0.55, 1800, "m")).toEqual({ value: expect.closeTo(300, 9), unit: "mm/h" });
  });
  it("has no rate without time", () => expect(fallRate(0, 1, 0, "ft")).toBeNull());
});

describe("levels shown both ways (7′ 3″ is 7.25, 6′ 9″ is 6.75: the trade's own pairs)", () => {
  it("feet", () => {
    expect(otherWay(7.25, "ft")).toBe("7′ 3″");
    expect(otherWay(6.75, "ft")).toBe("6′ 9″");
    expect(otherWay(7.85, "ft")).toBe("7′ 10 1/4″");
    expect(otherWay(7.999, "ft")).toBe("8′ 0″");
    expect(otherWay(-0.3, "ft")).toBe("−0′ 3 5/8″"); // 3.6 in under the mark
    expect(showLevel(97.2, "ft")).toBe("97.20 ft");
    expect(showLevel(-0.5, "ft")).toBe("−0.50 ft");
  });
  it("meters", () => {
    expect(otherWay(1.234, "m")).toBe("1234 mm");
    expect(showLevel(30.2, "m")).toBe("30.200 m");
  });
});
