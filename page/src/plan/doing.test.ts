import { describe, expect, it } from "vitest";
import type { Table } from "../api";
import { sideEdits, typedEdits, withCorner, withoutCorner } from "./doing";
import { partsOf } from "./model";
import { direction } from "./strip";

// An invented lot in feet; lengths by hand.
const JOB: Table = {
  job: { units: "us" },
  buildings: {
    H1: {
      unit: "ft",
      outline: [
        [0, 0],
        [40, 0],
        [40, 30],
        [0, 30],
      ],
    },
  },
  features: {
    K1: {
      kind: "walk",
      unit: "ft",
      outline: [
        [0, 0],
        [3, 4],
        [0, 8],
      ],
    },
    X1: {
      kind: "existing drain",
      unit: "ft",
      path: [
        [0, 0],
        [3, 4],
        [6, 4],
      ],
    },
    T1: { kind: "tree", at: ["1 ft", "far"] },
  },
  downspouts: { D1: { at: ["10 ft", "0 ft"] } },
  runs: {
    P1: {
      from: "D1",
      to: "W1",
      path: [
        ["10 ft", "0 ft"],
        ["10 ft", "-20 ft"],
      ],
    },
  },
  wells: { W1: { at: ["10 ft", "-20 ft"] } },
};
const parts = partsOf(JOB, []);
const part = (key: string) => {
  const found = parts.find((one) => one.key === key);
  if (!found) throw new Error(key);
  return found;
};

describe("typed coordinates", () => {
  it("stand as they were typed, with the unit of the plan where none was", () => {
    expect(typedEdits(JOB, parts, part("features.T1.at"), 0, 1, 12.5, "12' 6\"", "ft")).toEqual([
      { path: "features.T1.at[1]", value: "12' 6\"" },
    ]);
    expect(typedEdits(JOB, parts, part("features.T1.at"), 0, 1, 12.5, "12.5", "ft")[0]?.value).toBe(
      "12.5 ft",
    );
  });
  it("are bare numbers where the table has a unit", () => {
    expect(typedEdits(JOB, parts, part("buildings.H1.outline"), 1, 0, 41, "41", "ft")).toEqual([
      { path: "buildings.H1.outline[1][0]", value: 41 },
    ]);
  });
  it("take the run of a downspout along", () => {
    expect(typedEdits(JOB, parts, part("downspouts.D1.at"), 0, 0, 12, "12 ft", "ft")).toEqual([
      { path: "downspouts.D1.at[0]", value: "12 ft" },
      { path: "runs.P1.path[0]", value: ["12 ft", "0 ft"] },
    ]);
  });
});

describe("typed sides", () => {
  it("move the wall across of a rectangle", () => {
    expect(sideEdits(JOB, parts, part("buildings.H1.outline"), 0, 44)).toEqual([
      { path: "buildings.H1.outline[1]", value: [44, 0] },
      { path: "buildings.H1.outline[2]", value: [44, 30] },
    ]);
  });
  it("move the far corner alone elsewhere, along the side: 5 ft made 10 ft, a 3-4-5 triangle", () => {
    expect(sideEdits(JOB, parts, part("features.K1.outline"), 0, 10)).toEqual([
      { path: "features.K1.outline[1]", value: [6, 8] },
    ]);
    expect(sideEdits(JOB, parts, part("features.K1.outline"), 0, 0)).toEqual([]);
  });
});

describe("corners", () => {
  it("come halfway along the side, the last of an outline before its first", () => {
    expect(withCorner(part("buildings.H1.outline"), 3)[4]).toEqual([0, 15]);
    expect(withCorner(part("features.X1.path"), 2)[3]).toEqual([9, 4]);
    expect(withoutCorner(part("features.X1.path"), 1)).toEqual([
      [0, 0],
      [6, 4],
    ]);
  });
});

describe("the way of a typed length", () => {
  const sketch: [number, number][] = [
    [0, 0],
    [10, 0],
  ];
  it("is that of the pointer, of the plan, or of the side before", () => {
    expect(direction("pointer", sketch, [10, 7])).toBeCloseTo(Math.PI / 2, 12);
    expect(direction("left", sketch, null)).toBe(Math.PI);
    expect(direction("square left", sketch, null)).toBeCloseTo(Math.PI / 2, 12);
    expect(direction("square right", sketch, null)).toBeCloseTo(-Math.PI / 2, 12);
    expect(direction("straight on", sketch, null)).toBe(0);
    expect(direction("pointer", sketch, null)).toBeUndefined();
    expect(direction("square left", [[0, 0]], null)).toBeUndefined();
  });
});
