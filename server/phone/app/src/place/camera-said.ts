// What stands on the card of a camera, put together from the engine's answers.
import type { CameraNow, Difference, Dialled, GlanceVerdict, Limits } from "../engine/answers.gen";
import type { CardSaid } from "../look";
import { camera as words, offWords, upper } from "../words";

/** offOf is how a camera lies from its aim: by cards where they count, as its verdict is. */
export const offOf = (c: CameraNow): Difference | undefined => c.last?.offAimByCards ?? c.last?.offAim;

/** staysAs says that a camera is left as it is: inside its limits, or with nothing better to dial. */
export const staysAs = (c: CameraNow, v: GlanceVerdict | undefined): boolean =>
  c.last !== undefined && (v?.word === "inside" || c.toDial === undefined);

/** dialOf is the one answer to what is dialled, or what stays. */
export const dialOf = (c: CameraNow, v: GlanceVerdict | undefined): Dialled | undefined => (staysAs(c, v) ? c.last?.setting : c.toDial);

/** besideWords are tint and fine axis; a tint of 0 is said, for it is dialled too. */
export function besideWords(d: Dialled): string {
  const parts = [];
  if (d.tint !== undefined) parts.push(words.tint(d.tint));
  else if (d.whiteMode === "kelvin") parts.push(words.tint(0));
  if (d.amberBlue !== undefined && d.amberBlue !== 0) parts.push(words.amberBlue(d.amberBlue));
  return parts.join(", ");
}

/** settingWords are a setting in few words: "4400 K, tint 0". */
export const settingWords = (d: Dialled): string => (d.whiteMode === "kelvin" && d.kelvin !== undefined
  ? [`${d.kelvin} K`, besideWords(d)].filter(Boolean).join(", ") : upper(d.words));

/** whereBeyond leaves green–magenta out where it is inside its limit: it is said where something is to be done about it. */
export function whereBeyond(off: Difference, limit: Limits): { mired: number | undefined; duv: number | undefined } {
  const { mired, duv } = off;
  return { mired, duv: duv !== undefined && Math.abs(duv) > (duv > 0 ? limit.duvGreen : limit.duvMagenta) ? duv : undefined };
}

function smallWords(c: CameraNow, v: GlanceVerdict | undefined, limit: Limits | undefined): string {
  const off = offOf(c);
  if (c.contested?.length) return words.contested;
  if (!c.last) return c.toDial ? words.notReadOff : upper(c.problem ?? words.notReadOff);
  if (!off) return upper(c.last.problem ?? c.problem ?? "");
  const lies = offWords(limit ? whereBeyond(off, limit) : off) || words.onIt;
  if (staysAs(c, v)) return limit ? words.inside(lies, limit.mired) : lies;
  return words.offAt(lies, c.last.setting.kelvin ? `${c.last.setting.kelvin} K` : c.last.setting.words);
}

/** cardSaid is a camera as its card shows it. framed is the camera that is dialled first: one heavy frame a screen. */
export function cardSaid(c: CameraNow, v: GlanceVerdict | undefined, limit: Limits | undefined, framed: boolean,
  press: () => void): CardSaid {
  const dial = dialOf(c, v);
  const byKelvin = dial?.whiteMode === "kelvin" && dial.kelvin !== undefined;
  return {
    letter: c.letter, press, must: framed,
    verdict: { word: v?.word ?? "missing", times: v?.times, mired: offOf(c)?.mired },
    verb: !dial ? words.noAnswer : staysAs(c, v) ? words.leave : words.dial,
    dial: byKelvin ? String(dial.kelvin) : undefined, unit: "K",
    beside: !dial ? undefined : byKelvin ? besideWords(dial) : upper(dial.words),
    small: smallWords(c, v, limit),
  };
}

/** framedFirst is the camera that is furthest beyond its limit. */
export function framedFirst(all: readonly CameraNow[], verdicts: readonly GlanceVerdict[]): string | undefined {
  const of = (c: CameraNow) => verdicts.find((v) => v.record === c.camera);
  return all.filter((c) => c.toDial && !staysAs(c, of(c)))
    .sort((a, b) => (of(b)?.times ?? 0) - (of(a)?.times ?? 0))[0]?.camera;
}
