import { describe, expect, it } from "vitest";
import { area, crossesItself, footOnSide, halfway, meeting, type XY } from "./geometry";
import { anchorsAround, anchorsOf, GRIDS, mainDirection, snap } from "./snap";

// A house 40 ft by 30 ft with its corner at (10, 10); every expected place is read off that drawing.
const HOUSE: XY[] = [
  [10, 10],
  [50, 10],
  [50, 40],
  [10, 40],
];
const SCENE = {
  corners: HOUSE.map((at) => ({ at, part: "H1" })),
  sides: HOUSE.map((a, i) => ({ a, b: HOUSE[(i + 1) % 4] as XY, part: "H1" })),
};
const EMPTY = { corners: [], sides: [] };
const FT = GRIDS.ft;

describe("where a point belongs", () => {
  it("on a corner, exactly, though a side is nearer", () => {
    expect(snap([10.4, 10.05], SCENE, [], 0.5, FT)).toMatchObject({
      at: [10, 10],
      caught: "corner",
      part: "H1",
    });
  });
  it("on a side, at the foot of the point", () => {
    expect(snap([30.123, 9.7], SCENE, [], 0.5, FT)).toMatchObject({ at: [30.12, 10], caught: "side" });
  });
  it("square to the last side, at whole inches", () => {
    // Last side runs east from (0, 0) to (20, 0); square to it is due north. 12 ft 3 in is 12.25 ft.
    const found = snap(
      [20.2, 12.24],
      EMPTY,
      anchorsOf(
        [
          [0, 0],
          [20, 0],
        ],
        0,
      ),
      0.5,
      FT,
    );
    expect(found).toMatchObject({ at: [20, 12.25], caught: "square" });
  });
  it("square to the last side and to the first: the fourth corner of a rectangle", () => {
    const found = snap(
      [0.3, 12.2],
      EMPTY,
      anchorsOf(
        [
          [0, 0],
          [20, 0],
          [20, 12],
        ],
        0,
      ),
      0.5,
      FT,
    );
    expect(found).toMatchObject({ at: [0, 12], caught: "square corner" });
  });
  it("square to a slanted side: a 3-4-5 triangle", () => {
    // From (0, 0) to (4, 3); turned left by a right angle and 5 long it ends at (4 - 3, 3 + 4).
    const found = snap(
      [1.03, 6.98],
      EMPTY,
      anchorsOf(
        [
          [0, 0],
          [4, 3],
        ],
        0,
      ),
      0.3,
      FT,
    );
    expect(found.caught).toBe("square");
    expect(found.at[0]).toBeCloseTo(1, 1);
    expect(found.at[1]).toBeCloseTo(7, 1);
  });
  it("where a square line meets a wall", () => {
    const found = snap(
      [30.2, 9.8],
      SCENE,
      anchorsOf(
        [
          [0, 0],
          [30, 0],
        ],
        0,
      ),
      0.5,
      FT,
    );
    expect(found).toMatchObject({ at: [30, 10], caught: "side" });
  });
  it("on the grid where nothing is near", () => {
    expect(snap([70.04, 80.07], SCENE, [], 0.5, FT)).toMatchObject({ at: [70, 80.1], caught: "free" });
  });
  it("a moved corner comes back to square at both neighbors", () => {
    const moved = snap([50.3, 40.2], EMPTY, anchorsAround(HOUSE, 2, true), 0.5, FT);
    expect(moved).toMatchObject({ at: [50, 40], caught: "square corner" });
  });
});

describe("directions and shapes", () => {
  it("the house's long side gives the main direction", () => {
    expect(mainDirection(HOUSE)).toBe(0);
    expect(
      mainDirection([
        [0, 0],
        [10, 10],
        [5, 15],
        [-5, 5],
      ]),
    ).toBeCloseTo(Math.PI / 4, 12);
    expect(mainDirection([])).toBe(0);
  });
  it("lines meet, or run side by side", () => {
    expect(meeting([0, 0], 0, [5, 5], Math.PI / 2)?.map((n) => Math.round(n * 1e9) / 1e9)).toEqual([5, 0]);
    expect(meeting([0, 0], 0, [0, 5], Math.PI)).toBeUndefined();
  });
  it("a bow tie crosses itself, a rectangle does not", () => {
    expect(
      crossesItself(
        [
          [0, 0],
          [10, 10],
          [10, 0],
          [0, 10],
        ],
        true,
      ),
    ).toBe(true);
    expect(crossesItself(HOUSE, true)).toBe(false);
  });
  it("area and the middle of a way", () => {
    expect(area(HOUSE)).toBe(1200);
    expect(
      halfway([
        [0, 0],
        [10, 0],
        [10, 20],
      ]),
    ).toEqual([10, 5]);
    expect(footOnSide([-5, 3], [0, 0], [10, 0])).toEqual([0, 0]);
  });
});
