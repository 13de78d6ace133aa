import { describe, expect, it } from "vitest";
import { capital, grouped, placed, plainly } from "./words";

describe("words of the document", () => {
  it("how to measure ends before the key of the document", () => {
    expect(plainly("ask the building office for the frost line of the place: soil.frost_depth")).toBe(
      "ask the building office for the frost line of the place",
    );
    expect(plainly("stand at the overflow and see where water would run: overflows.ID.destination")).toBe(
      "stand at the overflow and see where water would run",
    );
    expect(plainly("see how much of the roof lies under branches: roofs.ID.trees, tree_kind")).toBe(
      "see how much of the roof lies under branches",
    );
    expect(plainly("name the texture at the water; write soil.texture or soil.specific_yield")).toBe(
      "name the texture at the water; give it under Measure, soil, texture or specific yield",
    );
    expect(plainly("tape it; write wells.ID.stone_above")).toBe(
      "tape it; give it under Measure, wells, stone above",
    );
    expect(plainly("time the fall: twice, in the same hole")).toBe("time the fall: twice, in the same hole");
  });
  it("a place is counted from one", () => {
    expect(placed("survey.readings[10].rod")).toBe("survey, readings 11, rod");
    expect(placed("soil.seasonal_high_water_depth")).toBe("soil, seasonal high water depth");
  });
  it("a sentence stays whole, commas and all, and ends without its full stop", () => {
    expect(
      grouped([
        "5 Does it hold? Full, W1 is empty again after 5.1 days.",
        "5 Does it hold? it spills 5,142 gal.",
      ]),
    ).toEqual([["5 Does it hold?", ["Full, W1 is empty again after 5.1 days", "it spills 5,142 gal"]]]);
  });
  it("a question that waits twice is named once, and each measurement once", () => {
    expect(
      grouped([
        "5 Does it hold and soak away? seasonal high water",
        "5 Does it hold and soak away? seasonal high water, lowest floor of a building near the well",
        "7 Is it allowed, is it safe? buried utilities",
      ]),
    ).toEqual([
      ["5 Does it hold and soak away?", ["seasonal high water", "lowest floor of a building near the well"]],
      ["7 Is it allowed, is it safe?", ["buried utilities"]],
    ]);
    expect(capital("water")).toBe("Water");
  });
});
