import { expect, test } from "vitest";
import { nearest, says, years } from "./years";

const spill = (day: number, year: number) => ({
  day,
  year,
  share: 0.5,
  at: `3 Mar ${year}, 14:00`,
  rain: "2.1 in",
  rain_time: "9 h",
  left: "120 gal",
  left_time: "2 h",
  stood: "2.5 days",
});

test("a touch finds the tick that is nearest, and none from far away", () => {
  const spills = [spill(10, 1990), spill(200, 1990), spill(205, 1995)];
  const place = (one: (typeof spills)[number]): [number, number] => [one.day, (one.year - 1990) * 8];
  expect(nearest(spills, 12, 3, place)).toBe(0);
  expect(nearest(spills, 203, 38, place)).toBe(2);
  expect(nearest(spills, 100, 20, place)).toBe(-1);
  expect(nearest([], 0, 0, place)).toBe(-1);
});

test("a spill is told in one sentence", () => {
  expect(says(spill(62, 1990))).toBe(
    "3 Mar 1990, 14:00: 2.1 in of rain in 9 h; 120 gal spilled in 2 h; water stood in the wells for 2.5 days.",
  );
});

test("few years are written beside the chart, round ones, within the record", () => {
  expect(years(1976, 2006)).toEqual([1980, 1985, 1990, 1995, 2000, 2005]);
  expect(years(1949, 1952)).toEqual([1950, 1952]);
  expect(years(1940, 2006)[0]).toBe(1940);
  expect(years(1940, 2006)).toHaveLength(7);
});
