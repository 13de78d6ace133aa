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

/** The public works colors of buried lines; the letter beside them says the same without color. */
export const BURIED: Record<string, string> = {
  electric: "#C4001A",
  gas: "#E0B400",
  communication: "#E06A00",
  water: "#0A5CC4",
  reclaimed: "#7A3FA0",
  sewer: "#1E8A3C",
};
