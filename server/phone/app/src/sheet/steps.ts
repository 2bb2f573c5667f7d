// The steps of a camera body's own dials.
import type { HandsetRecord } from "../engine/answers.gen";

const numberOf = (v: unknown): number => Number(String(v ?? ""));

interface Range { min: unknown; max: unknown; step: unknown }

/** kelvinBeside are the settings next to one on a body's kelvin dial; none at an end, or where its dial is not known. */
export function kelvinBeside(body: HandsetRecord | undefined, at: number): { down?: number; up?: number } {
  const ranges = (body?.fields["kelvinRanges"]?.value ?? []) as Range[], values = (body?.fields["kelvinValues"]?.value ?? []) as unknown[];
  const all = values.map(numberOf);
  for (const r of ranges) {
    const min = numberOf(r.min), max = numberOf(r.max), step = numberOf(r.step);
    for (const k of [Math.floor((at - min) / step), Math.ceil((at - min) / step)]) {
      for (const near of [min + (k - 1) * step, min + k * step, min + (k + 1) * step]) if (near >= min && near <= max) all.push(near);
    }
    all.push(min, max);
  }
  return beside(all, at);
}

/** tintBeside is the same on its green–magenta dial, or on its amber–blue axis. */
export function tintBeside(body: HandsetRecord | undefined, at: number,
  dial: "tint" | "amberBlue" = "tint"): { down?: number; up?: number } {
  const tint = body?.fields[dial]?.value as Range | undefined;
  if (!tint) return {};
  const step = numberOf(tint.step), all = [at - step, at + step].map((v) => Number(v.toFixed(2)));
  return beside(all.filter((v) => v >= numberOf(tint.min) && v <= numberOf(tint.max)), at);
}

function beside(all: number[], at: number): { down?: number; up?: number } {
  const below = all.filter((v) => v < at), above = all.filter((v) => v > at);
  return { ...(below.length > 0 && { down: Math.max(...below) }), ...(above.length > 0 && { up: Math.min(...above) }) };
}
