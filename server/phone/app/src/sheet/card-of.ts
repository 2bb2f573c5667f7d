// What the picture of a camera is coded in, and a grey card as the record has it.
import { digits, type answers, type Value } from "../day";
import type { Texts } from "./measured";
import { number } from "./measured";

/** Coded is how the code values of a recording mode are to be read. */
export interface Coded { mode: string; encoding: string; primaries: string; bits: number; range: string; gamma: Value | undefined }

/** codedBy is the recording mode of a body: the one that was named, else its only one. */
export function codedBy(body: answers.HandsetRecord | undefined, mode: string | undefined): Coded | undefined {
  const modes = Object.entries(body?.fields ?? {}).filter(([name]) => name.startsWith("recordingModes/"));
  const found = modes.find(([name]) => name === `recordingModes/${mode}`) ?? (modes.length === 1 ? modes[0] : undefined);
  const v = found?.[1].value as Record<string, Value> | undefined;
  if (!found || !v || typeof v["encoding"] !== "string" || typeof v["primaries"] !== "string") return undefined;
  return {
    mode: found[0].slice("recordingModes/".length), encoding: v["encoding"], primaries: v["primaries"], gamma: v["gamma"],
    bits: Number(String(v["bits"] ?? 8)), range: typeof v["range"] === "string" ? v["range"] : "full",
  };
}

export type How = "codeValues" | "percent";

/** rgbOf is the value of the field rgb; missing names the first that is not typed. */
export function rgbOf(how: How, texts: Texts, coded: Coded): { rgb?: { readonly [name: string]: Value }; missing?: string } {
  const rgb: Record<string, Value> = { as: how, encoding: coded.encoding, primaries: coded.primaries };
  if (coded.gamma !== undefined) rgb["gamma"] = coded.gamma;
  if (how === "codeValues") Object.assign(rgb, { bits: digits(String(coded.bits)), range: coded.range });
  for (const name of ["r", "g", "b"]) {
    const value = number(texts[name]);
    if (value === undefined) return { missing: name };
    rgb[name] = value;
  }
  return { rgb };
}

/** settingOf is what a camera was set to, as a sample has it. */
export function settingOf(d: answers.Dialled): { readonly [name: string]: Value } {
  const n = (name: string, v: number | undefined) => v !== undefined && { [name]: digits(String(v)) };
  return { whiteMode: d.whiteMode, ...n("kelvin", d.kelvin), ...n("tint", d.tint), ...n("amberBlue", d.amberBlue),
    ...(d.preset && { preset: d.preset }) };
}
