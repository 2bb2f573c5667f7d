// What stands in the row of a light, put together from the engine's answers.
import type { GlanceVerdict, LightNow, LightPlan } from "../engine/answers.gen";
import type { LightSaid } from "../look";
import { clock, intents, lights as words, offWords, upper } from "../words";

/** judgedBy is the difference that a light is judged by: against its own colour, else against the white. */
const judgedBy = (l: LightNow) => l.offOwnColor ?? l.cast;

/** lightSaid is a light as its row shows it. number is as in the picture. */
export function lightSaid(l: LightNow, plan: LightPlan | undefined, v: GlanceVerdict | undefined, number: number): LightSaid {
  const off = judgedBy(l);
  const beyond = off?.duv !== undefined && l.within === false && Math.abs(off.duv) > (off.duv > 0 ? l.limits.duvGreen
    : l.limits.duvMagenta);
  return {
    number: String(number),
    name: l.name,
    role: [l.role, intents[l.intent] ?? l.intent].join(", "),
    verdict: v ? { word: v.word, times: v.times, minutes: v.minutes } : { word: "missing" },
    off: off && offWords({ ...off, duv: beyond ? off.duv : undefined }),
    mired: off?.mired,
    limit: l.intent === "leave" ? undefined : l.limits.mired,
    greenMagenta: beyond && off?.duv !== undefined
      ? { duv: off.duv, limit: off.duv > 0 ? l.limits.duvGreen : l.limits.duvMagenta, words: offWords({ duv: off.duv }) } : undefined,
    toDo: toDo(l, plan, v),
    then: plan && !plan.stays && v?.word !== "missing" ? thenWords(plan) : undefined,
    small: small(l),
  };
}

function toDo(l: LightNow, plan: LightPlan | undefined, v: GlanceVerdict | undefined): string | undefined {
  if (!l.on) return words.switchedOff;
  if (v?.word === "missing") return words.readIt;
  if (!plan) return undefined;
  const expected = plan.residual && !plan.stays ? `: expect ${plan.residual.words}` : ""; // it stands under what is to be done
  const what = expected ? plan.words.replace(expected, "") : plan.words;
  return upper(plan.problem ?? what);
}

function thenWords(plan: LightPlan): string | undefined {
  const parts = [];
  if (plan.residual) parts.push(words.then(offWords(plan.residual) || words.onTheWhite));
  if (plan.lossStops > 0) parts.push(words.loses(plan.lossStops));
  if (plan.checkWithMeter) parts.push(words.readAgain);
  return parts.join(", ") || undefined;
}

function small(l: LightNow): string {
  if (!l.color) return l.problem ?? words.notRead;
  const parts = [l.color.words];
  if (l.illuminanceLux !== undefined) parts.push(`${l.illuminanceLux} lx`);
  if (l.takenAt) parts.push(clock(l.takenAt));
  parts.push(...(l.staleBecause ?? []));
  return parts.join(", ");
}

/** worst orders lights by what is to be done: the furthest off, then what is missing or old, then the rest. */
export function worst(lights: readonly LightNow[], verdicts: readonly GlanceVerdict[]): string[] {
  const rank = (l: LightNow): number => {
    const v = verdicts.find((x) => x.record === l.light);
    if (v?.word === "off") return 1000 + (v.times ?? 0);
    return v?.word === "missing" ? 3 : v?.word === "old" ? 2 : v?.word === "inside" ? 1 : 0;
  };
  return [...lights].sort((a, b) => rank(b) - rank(a)).map((l) => l.light);
}
