import { describe, expect, it } from "vitest";
import cases from "../../../tests/data/lengths.json";
import { readLength, showLength, trimmed } from "./lengths";

type Case = {
  text: string;
  bare?: string;
  feet?: number;
  inches?: number;
  meters?: number;
  refused?: boolean;
};

describe("typed lengths, as the service reads them (the same cases are held against Python)", () => {
  for (const one of cases as Case[]) {
    it(`${one.text} ${one.bare ?? ""}`, () => {
      const feet = readLength(one.text, "ft", one.bare);
      const meters = readLength(one.text, "m", one.bare);
      if (one.refused) {
        expect(feet).toBeUndefined();
      } else {
        const expected = one.meters ?? (one.feet ?? 0) * 0.3048 + (one.inches ?? 0) * 0.0254;
        expect(meters).toBeCloseTo(expected, 10);
        expect(feet).toBeCloseTo(expected / 0.3048, 9);
      }
    });
  }
  it("keeps what was typed in feet exact in feet", () => {
    expect(readLength("24' 6\"", "ft")).toBe(24.5);
    expect(readLength("59.5 ft", "ft")).toBe(59.5);
  });
});

describe("lengths shown (by hand: 1 ft = 12 in, nearest 1/8 in)", () => {
  for (const [feet, said] of [
    [24.5, "24′ 6″"],
    [44, "44′ 0″"],
    [4.5416667, "4′ 6 1/2″"],
    [59.998, "60′ 0″"],
    [0.75, "9″"],
    [0.0625, "3/4″"],
    [10.25, "10′ 3″"],
    [10.03125, "10′ 0 3/8″"],
  ] as const)
    it(said, () => expect(showLength(feet, "ft")).toBe(said));
  it("meters", () => expect(showLength(12.5, "m")).toBe("12.5 m"));
  it("numbers without needless zeros", () => {
    expect(trimmed(12, 2)).toBe("12");
    expect(trimmed(12.3, 2)).toBe("12.3");
    expect(trimmed(-0.001, 2)).toBe("0");
  });
});
