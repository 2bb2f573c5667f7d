// What is typed of a reading, as the record has it.
import { digits, type Digits } from "../day";
import { fourDecimals, kelvinIsFull, type PadField } from "../look";
import { measure as words } from "../words";

export type Way = "cctDuv" | "xy";

/** Texts are the digits as they were typed, by field. */
export type Texts = Record<string, string>;

/** fieldsOf are the fields of a way to say a colour, and the light level. */
export function fieldsOf(way: Way, texts: Texts): PadField[] {
  const field = (name: string,
    more: Partial<PadField>): PadField => ({ name, label: words.fields[name]!, text: texts[name] ?? "", ...more });
  const lux = field("lux", { unit: "lx" });
  if (way === "xy") return [field("x", { full: fourDecimals }), field("y", { full: fourDecimals }), lux];
  return [field("cctKelvin", { unit: "K", full: kelvinIsFull }), field("duv", { sign: true, full: fourDecimals }), lux];
}

/** number is a typed text as a number with its digits; undefined where it is none yet. */
export function number(text: string | undefined): Digits | undefined {
  try {
    return text ? digits(text) : undefined;
  } catch {
    return undefined;
  }
}

/** measuredOf is the value of the field measured; missing names the first field that has none. */
export function measuredOf(way: Way, texts: Texts): { measured?: Record<string, string | Digits>; missing?: string } {
  const measured: Record<string, string | Digits> = { as: way };
  for (const name of way === "xy" ? ["x", "y"] : ["cctKelvin", "duv"]) {
    const value = number(texts[name]);
    if (value === undefined) return { missing: name };
    measured[name] = value;
  }
  return { measured };
}
