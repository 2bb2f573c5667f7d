import { html, nothing, type TemplateResult } from "lit";
import { verdict, type VerdictSaid } from "./verdict";

/** CardSaid is a camera with the one answer to what is dialled on it. */
export interface CardSaid {
  letter: string;
  verdict: VerdictSaid;
  must: boolean; // something is to be dialled: the one heavy frame
  verb: string; // Dial, Leave
  dial?: string | undefined; // 4400; absent where a preset or nothing is dialled
  unit?: string | undefined; // K
  beside?: string | undefined; // tint 0, or words where there is no number
  small: string; // 27 warmer at 5000 K
  press: () => void;
}

export function cameraCard(c: CardSaid): TemplateResult {
  return html`<button type="button" class=${c.must ? "cam must" : "cam"} @click=${c.press}>
    <span class="top"><span class="tag sq">${c.letter}</span>${verdict(c.verdict)}</span>
    <span class="verb">${c.verb}</span>
    ${c.dial ? html`<span class="dial">${c.dial}<small> ${c.unit}</small></span>` : nothing}
    ${c.beside ? html`<span class=${c.dial ? "" : "dial words"}>${c.beside}</span>` : nothing}
    <span class="s">${c.small}</span></button>`;
}
