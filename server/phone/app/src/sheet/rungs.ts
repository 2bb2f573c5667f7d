// Steps of a dial: the next setting that exists on a body, by the ranges and lists of its record.

interface Range { min: number; max: number; step: number }

/** A body's record as it is listed, as far as its dials go. */
export interface Dials {
  kelvinRanges?: readonly Range[];
  kelvinValues?: readonly number[];
  tint?: Range;
  amberBlue?: Range;
}

const decimals = (step: number): number => (String(step).split(".")[1] ?? "").length;

/** rung is the setting before or after a value in one range; undefined at its end. */
function rung(r: Range, value: number, by: 1 | -1): number | undefined {
  const at = (value - r.min) / r.step, near = Math.round(at);
  const onIt = Math.abs(at - near) < 1e-6;
  const next = r.min + r.step * (onIt ? near + by : by > 0 ? Math.ceil(at) : Math.floor(at));
  return next < r.min - 1e-9 || next > r.max + 1e-9 ? undefined : Number(next.toFixed(decimals(r.step)));
}

/** stepped is the next setting of one dial; without a record of the body a step of 100 K or of 1. */
export function stepped(dials: Dials | undefined, dial: "kelvin" | "tint" | "amberBlue", value: number, by: 1 | -1): number | undefined {
  if (dial !== "kelvin") {
    const range = dials?.[dial];
    return range ? rung(range, value, by) : value + by;
  }
  const settings = [
    ...(dials?.kelvinRanges ?? []).map((r) => rung(r, value, by)).filter((v) => v !== undefined),
    ...(dials?.kelvinValues ?? []).filter((v) => (by > 0 ? v > value : v < value)),
  ];
  if (settings.length > 0) return by > 0 ? Math.min(...settings) : Math.max(...settings);
  return (dials?.kelvinRanges ?? dials?.kelvinValues) ? undefined : value + 100 * by;
}
