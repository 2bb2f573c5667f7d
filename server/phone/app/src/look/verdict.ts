import { html, svg, type SVGTemplateResult, type TemplateResult } from "lit";
import { shape } from "./icon";

/** A VerdictSaid is what the engine says of a light, a camera, a clip or a finding, and to which side it lies. */
export interface VerdictSaid {
  word: string; // inside, off, can't tell, differs, missing, old, left, accepted, not settled
  times?: number | undefined;
  minutes?: number | undefined;
  mired?: number | undefined; // its side: + warmer
}

// The ruler in small: brackets are the limits, the diamond is this one.
const brackets = svg`<path d="M5 4.5h-3v15h3M19 4.5h3v15h-3"/>`;
const dashed = svg`<path d="M5 4.5h-3v15h3M19 4.5h3v15h-3" stroke-dasharray="2.6 2.2"/>`;
const at = (x: number): SVGTemplateResult => svg`<path class="d" d="M${x} 6l4.4 6-4.4 6-4.4-6z"/>`;

const shapes: Record<string, (side: number, edge: boolean) => SVGTemplateResult> = {
  inside: (side, edge) => svg`${brackets}${at(edge ? 12 + 3.7 * side : 12)}`,
  off: (side) => side < 0
    ? svg`<path d="M13.7 4.5h-3v15h3M20 4.5h3v15h-3"/>${at(4.8)}`
    : svg`<path d="M4 4.5h-3v15h3M10.3 4.5h3v15h-3"/>${at(19.2)}`,
  "can't tell": () => dashed,
  missing: () => brackets,
  left: () => svg`<path d="M4 12h16"/>${at(12)}`,
  old: () => svg`<path d="M16.5 4.4A9 9 0 1 0 20.6 10M12 6.5V12l4 2.5"/>`,
  differs: () => svg`<path class="d" d="M6 6l4.4 6-4.4 6-4.4-6z"/><path d="M18 6l4.4 6-4.4 6-4.4-6z"/>`,
  accepted: () => svg`${brackets}<path d="M7.5 12.5l3 3 6-7"/>`,
  "not settled": () => svg`<circle class="d" cx="4.5" cy="5.5" r="3.5"/><circle class="d" cx="4.5" cy="18.5" r="3.5"/>
    <path d="M9.5 7.7l3.6 1.9M9.5 16.3l3.6-1.9"/><circle cx="18.5" cy="12" r="3.6"/>`,
};

const words: Record<string, string> = {
  inside: "Inside", off: "Off", "can't tell": "Can't tell", missing: "Missing", left: "Left", old: "Old", differs: "Differs",
  accepted: "Accepted", "not settled": "Not settled",
};

/** ageWords is how old a reading is, as people say it: in minutes up to two hours, in hours up to two days. */
export function ageWords(minutes: number): string {
  if (minutes < 120) return `${Math.round(minutes)} min`;
  return minutes < 48 * 60 ? `${Math.round(minutes / 60)} h` : `${Math.round(minutes / 1440)} days`;
}

/** verdictWords is the word and its number: "Off 3.1×", "Old 96 min". */
export function verdictWords(v: VerdictSaid): string {
  const word = words[v.word] ?? v.word;
  if (v.word === "off" && v.times !== undefined) return `${word} ${v.times.toFixed(1)}×`;
  if (v.word === "old" && v.minutes !== undefined) return `${word} ${ageWords(v.minutes)}`;
  return word;
}

/** mark is the shape of a verdict alone, beside a sentence that says it. From 80 % of a limit on the diamond stands at its bracket. */
export function mark(v: VerdictSaid): TemplateResult {
  const draw = shapes[v.word] ?? shapes["missing"]!;
  return shape(draw(Math.sign(v.mired ?? 1) || 1, (v.times ?? 0) >= 0.8));
}

/** verdict says it by a shape, a word and a number. */
export function verdict(v: VerdictSaid, far = false): TemplateResult {
  return html`<span class=${far ? "verdict far-word" : "verdict"}>${mark(v)}${verdictWords(v)}</span>`;
}
