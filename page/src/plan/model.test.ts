import { describe, expect, it } from "vitest";
import type { Leaf, OnPlan, Table } from "../api";
import { fingerprint, History, inverse } from "./history";
import { kindOf } from "./kinds";
import { added, after, freeLabel, leftToDesign, moved, partsOf, replaced, takenOut } from "./model";
import { cornersOf, laid, leveled, scaled } from "./picture";

// An invented house; places are in feet and read off by hand. The service says meters: 1 ft is 0.3048 m.
const JOB: Table = {
  document: 1,
  job: { units: "us" },
  buildings: {
    H1: {
      unit: "ft",
      outline: [
        [10, 10],
        [50, 10],
        [50, 40],
        [10, 40],
      ],
    },
  },
  roofs: {
    R1: {
      unit: "ft",
      outline: [
        [9, 9],
        [51, 9],
        [30, 25],
      ],
    },
    R2: {
      unit: "ft",
      outline: [
        [51, 9],
        [51, 41],
        [30, 25],
      ],
    },
  },
  features: {
    T1: { kind: "tree", at: ["66 ft", "3 m"] },
    K1: {
      kind: "walk",
      path: [
        ["1 ft", "2 ft"],
        ["wide", "2 ft"],
      ],
    },
  },
  downspouts: { D1: { at: ["10' 6\"", "9.5 ft"] } },
  runs: {
    P1: {
      from: "D1",
      to: "W1",
      unit: "ft",
      path: [
        [10.5, 9.5],
        [10.5, 0],
        [60, 0],
      ],
    },
  },
  wells: { W1: { at: ["60 ft", "0 ft"], bodies: 1 } },
  survey: {
    unit: "ft",
    readings: [
      { point: "BM", kind: "backsight" },
      { point: "walk", kind: "shot", at: [38, 44] },
    ],
  },
};
const placed = (one: Partial<OnPlan> & { id: string; table: string }): OnPlan => ({
  leaf: "at",
  points: [],
  origin: "designed",
  outline: [],
  outside_m: 0,
  from_id: null,
  to_id: null,
  says: "",
  ...one,
});
const DESIGNED = [
  placed({ id: "Y1", table: "wyes", points: [[6.096, 3.048]] }),
  placed({
    id: "P2",
    table: "runs",
    leaf: "path",
    points: [
      [6.096, 3.048],
      [18.288, 0],
    ],
    from_id: "Y1",
    to_id: "W1",
  }),
  placed({ id: "O1", table: "overflows", points: [[18.288, 0]], from_id: "W1" }),
  placed({ id: "W1", table: "wells", points: [[18.288, 0]], origin: "given", outline: [[17.9832, -0.3048]] }),
];
const part = (key: string, values: Leaf = JOB) => {
  const found = partsOf(values, DESIGNED).find((one) => one.key === key);
  if (!found) throw new Error(key);
  return found;
};
const parts = partsOf(JOB, DESIGNED);

describe("the plan in the document", () => {
  it("has given places in feet, whatever they were typed in", () => {
    expect(part("downspouts.D1.at").points).toEqual([[10.5, 9.5]]);
    expect(part("features.T1.at").points[0]?.[1]).toBeCloseTo(9.8425, 4);
    expect(part("survey.readings[1].at").points).toEqual([[38, 44]]);
    expect(part("buildings.H1.outline").points).toHaveLength(4);
  });
  it("has designed places of the service", () => {
    const wye = part("wyes.Y1.at");
    expect(wye.origin).toBe("designed");
    expect(wye.points[0]?.map((n) => Math.round(n * 1e6) / 1e6)).toEqual([20, 10]);
    expect(part("wells.W1.at").around[0]?.map((n) => Math.round(n * 1e6) / 1e6)).toEqual([59, -1]);
  });
  it("tells points that cannot be read and keeps the others", () => {
    expect(part("features.K1.path").unread).toEqual([1]);
    expect(part("features.K1.path").points[0]).toEqual([1, 2]);
  });
});

describe("edits", () => {
  it("move a downspout, and the run that begins at it", () => {
    expect(moved(JOB, parts, part("downspouts.D1.at"), null, [1, -0.25])).toEqual([
      { path: "downspouts.D1.at", value: ["11.5 ft", "9.25 ft"] },
      { path: "runs.P1.path[0]", value: [11.5, 9.25] },
    ]);
  });
  it("move a corner that two roof sections share together", () => {
    expect(moved(JOB, parts, part("roofs.R1.outline"), 2, [1, 0])).toEqual([
      { path: "roofs.R1.outline[2]", value: [31, 25] },
      { path: "roofs.R2.outline[2]", value: [31, 25] },
    ]);
  });
  it("write one corner where only one was changed, the list where one was added", () => {
    const house = part("buildings.H1.outline");
    const points = [...house.points];
    points[2] = [52, 40];
    expect(replaced(JOB, parts, house, points)).toEqual([
      { path: "buildings.H1.outline[2]", value: [52, 40] },
    ]);
    const more = [...house.points, [10, 30] as [number, number]];
    expect(replaced(JOB, parts, house, more)[0]).toMatchObject({ path: "buildings.H1.outline" });
  });
  it("make a designed wye given by one move", () => {
    expect(moved(JOB, parts, part("wyes.Y1.at"), null, [0.5, 0])).toEqual([
      { path: "wyes.Y1.at", value: ["20.5 ft", "10 ft"] },
    ]);
  });
  it("make a designed run given with its ends", () => {
    expect(moved(JOB, parts, part("runs.P2.path"), 1, [0, 1])).toEqual([
      { path: "runs.P2.from", value: "Y1" },
      { path: "wyes.Y1.at", value: ["20 ft", "10 ft"] },
      { path: "runs.P2.to", value: "W1" },
      {
        path: "runs.P2.path",
        value: [
          ["20 ft", "10 ft"],
          ["60 ft", "1 ft"],
        ],
      },
    ]);
  });
  it("make a designed overflow given with its well", () => {
    expect(moved(JOB, parts, part("overflows.O1.at"), null, [2, 0])).toEqual([
      { path: "overflows.O1.of", value: "W1" },
      { path: "overflows.O1.at", value: ["62 ft", "0 ft"] },
    ]);
  });
  it("add a walk under the next free label", () => {
    const walk = kindOf("walk");
    if (!walk) throw new Error();
    expect(
      added(JOB, parts, walk, [
        [0, 0],
        [4, 0],
        [4, 10.333],
      ]),
    ).toEqual({
      key: "features.K2.outline",
      edits: [
        {
          path: "features.K2",
          value: {
            kind: "walk",
            unit: "ft",
            outline: [
              [0, 0],
              [4, 0],
              [4, 10.33],
            ],
          },
        },
      ],
    });
    expect(
      added(JOB, parts, walk, [
        [0, 0],
        [4, 0],
      ]),
    ).toBeNull();
    expect(freeLabel(JOB, "Y", parts)).toBe("Y2");
  });
  it("add a run between two parts, a designed end becoming given", () => {
    const run = kindOf("runs");
    if (!run) throw new Error();
    expect(
      added(JOB, parts, run, [
        [10.5, 9.5],
        [20, 10],
      ])?.edits,
    ).toEqual([
      { path: "wyes.Y1.at", value: ["20 ft", "10 ft"] },
      {
        path: "runs.P3",
        value: {
          unit: "ft",
          path: [
            [10.5, 9.5],
            [20, 10],
          ],
          from: "D1",
          to: "Y1",
        },
      },
    ]);
  });
  it("take out a part whole, of a reading only its place, and leave a place to Roofwell", () => {
    expect(takenOut(part("features.T1.at"))).toEqual([{ path: "features.T1", value: null }]);
    expect(takenOut(part("survey.readings[1].at"))).toEqual([{ path: "survey.readings[1].at", value: null }]);
    expect(takenOut(part("wyes.Y1.at"))).toEqual([]);
    expect(leftToDesign(JOB, part("wells.W1.at"))).toEqual([{ path: "wells.W1.at", value: null }]);
    expect(leftToDesign(JOB, part("downspouts.D1.at"))).toEqual([{ path: "downspouts.D1", value: null }]);
  });
});

describe("undo and redo", () => {
  const edits = [
    { path: "wyes.Y1.at", value: ["20 ft", "10 ft"] },
    { path: "survey.readings[0]", value: null },
    { path: "wells.W1.bodies", value: 3 },
    { path: "buildings.H1.outline[1]", value: [55, 10] },
    { path: "features.T1", value: null },
  ];
  it("bring back exactly what was, tables that grew included", () => {
    const then = after(JOB, edits);
    expect(then).not.toEqual(JOB);
    expect(after(then, inverse(JOB, edits))).toEqual(JOB);
  });
  it("go back and forth without end", () => {
    const history = new History();
    let now: Leaf = JOB;
    for (let n = 0; n < 500; n++) {
      const change = [{ path: "wells.W1.bodies", value: n + 2 }];
      history.add(now, change, "bodies", n * 10_000);
      now = after(now, change);
    }
    for (let n = 0; n < 500; n++) now = after(now, history.back());
    expect(now).toEqual(JOB);
    expect(history.back()).toEqual([]);
    for (let n = 0; n < 500; n++) now = after(now, history.again());
    expect(now).toMatchObject({ wells: { W1: { bodies: 501 } } });
  });
  it("typing into one field is one step; another edit after going back drops what was ahead", () => {
    const history = new History();
    history.add(JOB, [{ path: "job.name", value: "A" }], "name", 0);
    history.add(
      after(JOB, [{ path: "job.name", value: "A" }]),
      [{ path: "job.name", value: "Al" }],
      "name",
      300,
    );
    expect(history.past).toHaveLength(1);
    expect(after(after(JOB, [{ path: "job.name", value: "Al" }]), history.back())).toEqual(JOB);
    history.add(JOB, [{ path: "job.name", value: "B" }], "name", 9000);
    expect(history.future).toHaveLength(0);
  });
  it("know the document again whatever the order of its keys", () => {
    expect(fingerprint({ a: 1, b: [2, { c: 3, d: 4 }] })).toBe(fingerprint({ b: [2, { d: 4, c: 3 }], a: 1 }));
    expect(fingerprint({ a: 1 })).not.toBe(fingerprint({ a: 2 }));
  });
});

describe("a picture under the plan", () => {
  it("is scaled about the first touch: 100 pixels that lie 10 ft apart become 25 ft", () => {
    const first = laid(400, 200, [20, 10], 40); // 0.1 ft a pixel, upper left corner at (0, 20)
    expect(first).toMatchObject({ at: [0, 20], scale: 0.1 });
    const after = scaled(first, [10, 10], [20, 10], 25);
    expect(after.scale).toBeCloseTo(0.25, 12);
    expect(after.at[0]).toBeCloseTo(-15, 12); // (0 - 10) times 2.5, from 10
    expect(after.at[1]).toBeCloseTo(35, 12);
    expect(scaled(first, [1, 1], [1, 1], 5)).toEqual(first);
  });
  it("is turned about the first touch until the line lies level", () => {
    const first = laid(400, 200, [20, 10], 40);
    const level = leveled(first, [0, 20], [3, 23]); // 45 degrees: exactly halfway, goes upright
    expect(Math.abs(Math.sin(2 * (level.turned + Math.PI / 4)))).toBeCloseTo(0, 12);
    expect(level.at).toEqual([0, 20]);
    const slight = leveled(first, [0, 20], [10, 21]);
    expect(slight.turned).toBeCloseTo(-Math.atan(0.1), 12);
    expect(cornersOf(first)).toEqual([
      [0, 20],
      [40, 20],
      [40, 0],
      [0, 0],
    ]);
  });
});
