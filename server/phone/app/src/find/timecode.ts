// Frames counted as SMPTE ST 12-1 does: at rates of 23.976 to 60, with numbers dropped or not, over midnight.

const bases: Readonly<Record<string, number>> = { "23.976": 24, 24: 24, 25: 25, "29.97": 30, 30: 30, 50: 50, "59.94": 60, 60: 60 };

/** longest is how many hours a recording over midnight may be: what would be longer is an end before its start. */
const longest = 12;

/** Rate is how frames are counted; drop are the numbers left out at a full minute, but for each tenth. */
export interface Rate { base: number; drop: number }

/** rateOf is the rate of a name such as 29.97; undefined where there is none. Numbers are dropped at 29.97 and 59.94 alone. */
export function rateOf(name: string, drop: boolean): Rate | undefined {
  const base = bases[name];
  if (base === undefined || drop && name !== "29.97" && name !== "59.94") return undefined;
  return { base, drop: drop ? base / 15 : 0 };
}

/** dayOf is how many frames a day of the count has. */
export const dayOf = (r: Rate): number => 144 * (600 * r.base - 9 * r.drop);

/** framesOf counts the frames from midnight to a timecode; undefined where there is none such at the rate. */
export function framesOf(r: Rate, text: string): number | undefined {
  const parts = /^(\d\d):(\d\d):(\d\d)([:;])(\d\d)$/.exec(text);
  if (!parts) return undefined;
  const [h, m, s, f] = [parts[1], parts[2], parts[3], parts[5]].map(Number) as [number, number, number, number];
  const dropped = f < r.drop && s === 0 && m % 10 !== 0;
  if (h > 23 || m > 59 || s > 59 || f >= r.base || dropped || parts[4] === ";" && r.drop === 0) return undefined;
  const minutes = 60 * h + m;
  return (60 * minutes + s) * r.base + f - r.drop * (minutes - Math.floor(minutes / 10));
}

/** spanOf is from where on, and over how many frames, a recording runs: over midnight where the end is the smaller one. */
export function spanOf(r: Rate, start: string, end: string): { from: number; frames: number } | undefined {
  const from = framesOf(r, start), to = framesOf(r, end);
  if (from === undefined || to === undefined) return undefined;
  if (to >= from) return { from, frames: to - from };
  const frames = to - from + dayOf(r);
  return frames > longest * dayOf(r) / 24 ? undefined : { from, frames };
}

/** anywhere says whether there is a rate at which a timecode can be. */
export const anywhere = (text: string): boolean => Object.keys(bases).some((name) => [false, true].some((drop) => {
  const r = rateOf(name, drop);
  return r !== undefined && framesOf(r, text) !== undefined;
}));
