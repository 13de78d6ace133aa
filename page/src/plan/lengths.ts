// Typed lengths, read as the service reads them (tests/data/lengths.json holds both to the same cases), and lengths shown.

export type Unit = "ft" | "m";
/** Meters in one unit of a plan; a foot is 0.3048 m exactly. */
export const METERS: Record<Unit, number> = { ft: 0.3048, m: 1 };

const SIGNS = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const NUMBER = String.raw`(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|\.\d+`;
const FRACTION = String.raw`\d+\/\d+`;
const AMOUNT = `(?:(?:${NUMBER})(?:(?: +| *- *)${FRACTION})?|${FRACTION})`;
const FEET = String.raw`(?:'|feet|foot|ft\.?)`;
const INCHES = String.raw`(?:"|inches|inch|in\.?)`;
const FEET_INCHES = new RegExp(`^(\\d+(?:,\\d{3})*) *${FEET} *-? *(${AMOUNT}) *${INCHES}$`);
const ONE = new RegExp(`^(${AMOUNT}) *-? *(${FEET}|${INCHES}|yards|yard|yd|mm|cm|meters|meter|m)?$`);

/** A length in inches or in millimeters, whichever it was typed in: both are exact where the text is. */
interface Read {
  inches: number;
  mm: number;
}

/** Read a typed length in units of the plan; undefined where it cannot be read. A number alone counts in `bare`. */
export function readLength(text: string, into: Unit, bare?: string): number | undefined {
  const read = parse(text, bare);
  if (!read) return undefined;
  const value = into === "ft" ? read.inches / 12 + read.mm / 304.8 : read.inches * 0.0254 + read.mm / 1000;
  return Number.isFinite(value) ? value : undefined;
}

function parse(text: string, bare?: string): Read | undefined {
  if (text.length > 200) return undefined;
  let plain = text
    .trim()
    .toLowerCase()
    .replace(/[’‘′]/g, "'")
    .replace(/[”“″]/g, '"')
    .replace(/[−–]/g, "-")
    .replace(/\u00a0/g, " ");
  for (const [sign, words] of Object.entries(SIGNS)) plain = plain.replace(sign, ` ${words}`).trim();
  const sign = plain.startsWith("-") ? -1 : 1;
  plain = plain.replace(/^[-+] */, "");
  const both = FEET_INCHES.exec(plain);
  if (both) {
    const inches = amount(both[2] ?? "");
    if (inches === undefined || inches >= 12) return undefined;
    return { inches: sign * (12 * Number((both[1] ?? "").replaceAll(",", "")) + inches), mm: 0 };
  }
  const one = ONE.exec(plain);
  if (!one) return undefined;
  const value = amount(one[1] ?? "");
  const unit = one[2] ?? bare;
  if (value === undefined || unit === undefined) return undefined;
  return inUnit(sign * value, unit);
}

function inUnit(value: number, unit: string): Read | undefined {
  if (/^('|f)/.test(unit)) return { inches: 12 * value, mm: 0 };
  if (/^("|i)/.test(unit)) return { inches: value, mm: 0 };
  if (unit.startsWith("y")) return { inches: 36 * value, mm: 0 };
  if (unit === "mm") return { inches: 0, mm: value };
  if (unit === "cm") return { inches: 0, mm: 10 * value };
  return { inches: 0, mm: 1000 * value };
}

/** A number, a fraction, or a whole number and a fraction (6 1/2, 6-1/2). */
function amount(text: string): number | undefined {
  const parts = text.split(/ +| *- */).filter(Boolean);
  let sum = 0;
  for (const [place, part] of parts.entries()) {
    if (part.includes("/")) {
      const [top, bottom] = part.split("/").map(Number);
      if (!bottom || top === undefined || (place > 0 && top >= bottom)) return undefined;
      if (place === 0 && parts.length === 1 && top >= bottom) return undefined;
      sum += top / bottom;
    } else {
      if (place > 0 || (parts.length > 1 && part.includes("."))) return undefined;
      sum += Number(part.replaceAll(",", ""));
    }
  }
  return sum;
}

/** A length on plan as the trade writes it: feet and inches to 1/8 in, or meters to the centimeter. */
export function showLength(value: number, unit: Unit): string {
  if (!Number.isFinite(value)) return "?";
  if (unit === "m") return `${trimmed(value, 2)} m`;
  const eighths = Math.round(Math.abs(value) * 96);
  const feet = Math.floor(eighths / 96);
  const inches = Math.floor((eighths % 96) / 8);
  const part = fraction(eighths % 8);
  const minus = value < 0 && eighths > 0 ? "−" : "";
  if (feet === 0) return `${minus}${part && inches === 0 ? part : [inches, part].filter(Boolean).join(" ")}″`;
  return `${minus}${feet}′ ${[inches, part].filter((one) => one !== "").join(" ")}″`;
}

function fraction(eighths: number): string {
  if (eighths === 0) return "";
  return eighths % 4 === 0 ? "1/2" : eighths % 2 === 0 ? `${eighths / 2}/4` : `${eighths}/8`;
}

/** A number without needless zeros, to so many places. */
export function trimmed(value: number, places: number): string {
  const text = value.toFixed(places).replace(/\.?0+$/, "");
  return text === "-0" ? "0" : text;
}
