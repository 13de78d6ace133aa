// The inks of the look that is on, for what is drawn on a canvas.

export interface Inks {
  paper: string;
  sheet: string;
  band: string;
  ink: string;
  ink2: string;
  line: string;
  water: string;
  wetsoft: string;
  lawnsoft: string;
  fails: string;
  /** One step more weight in the sun. */
  heavy: number;
}

export function inks(): Inks {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    paper: of("paper"),
    sheet: of("sheet"),
    band: of("band"),
    ink: of("ink"),
    ink2: of("ink2"),
    line: of("line"),
    water: of("water"),
    wetsoft: of("wetsoft"),
    lawnsoft: of("lawnsoft"),
    fails: of("fails"),
    heavy: Number(of("heavy")) > 0 ? 1.25 : 1,
  };
}

/** The public works colors of buried lines, and their lighter kin for dark paper; the letter beside them says the same. */
const BURIED: Record<string, [string, string]> = {
  electric: ["#C4001A", "#FF6B6B"],
  gas: ["#E0B400", "#FFD84D"],
  communication: ["#E06A00", "#FF9A4D"],
  water: ["#0A5CC4", "#7FB2FF"],
  reclaimed: ["#7A3FA0", "#C99BFF"],
  sewer: ["#1E8A3C", "#63D086"],
};

export function buriedColor(utility: string): string | undefined {
  const dark = document.documentElement.dataset.look === "dark";
  return BURIED[utility]?.[dark ? 1 : 0];
}
