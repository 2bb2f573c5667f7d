import { html, type TemplateResult } from "lit";

/** StepSaid is a value between a step down and a step up of its own dial; at an end there is no step. */
export interface StepSaid {
  label: string; // of the group: "B is at"
  small: string; // "it is at"
  value: string; // "5000 K"
  press?: (() => void) | undefined; // the value is a button, as where it can be typed
  down?: { words: string; label: string; press: () => void } | undefined; // "− 100", "100 K less"
  up?: { words: string; label: string; press: () => void } | undefined;
}

/** stepper goes by the dial's own step; nothing is held down. */
export function stepper(s: StepSaid): TemplateResult {
  const side = (step: StepSaid["down"]): TemplateResult => step
    ? html`<button type="button" class="b" aria-label=${step.label} @click=${step.press}>${step.words}</button>`
    : html`<span></span>`;
  return html`<div class="step" role="group" aria-label=${s.label}>
    ${side(s.down)}${s.press ? html`<button type="button" class="b mid" @click=${s.press}><small>${s.small}</small>${s.value}</button>`
      : html`<p class="mid" role="status"><small>${s.small}</small>${s.value}</p>`}${side(s.up)}</div>`;
}
