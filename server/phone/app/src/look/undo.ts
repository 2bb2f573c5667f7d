import { html, nothing, type TemplateResult } from "lit";
import { Plain } from "./element";
import { button, type Act } from "./frame";

/** UndoSaid is what was saved: each camera's clip with its values, and how they are known. */
export interface UndoSaid {
  title: string; // "Take 3 saved"
  time: string;
  lines: { letter: string; words: string; source: string }[];
}

/** The undo panel: it grows upward out of the strip and goes by itself, later while somebody touches it. */
export class UndoPanel extends Plain {
  static override properties = { said: { attribute: false }, acts: { attribute: false }, seconds: { attribute: false } };
  declare said: UndoSaid | undefined;
  declare acts: Act[];
  declare seconds: number;
  #timer = 0;

  constructor() {
    super();
    this.acts = [];
    this.seconds = 10;
    for (const name of ["pointerdown", "focusin", "keydown"]) this.addEventListener(name, () => this.#start());
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#timer);
  }

  protected override updated(changed: Map<string, unknown>): void {
    if (changed.has("said")) this.#start();
  }

  #start(): void {
    clearTimeout(this.#timer);
    if (this.said) this.#timer = window.setTimeout(() => this.tell("ew-over", undefined), 1000 * this.seconds);
  }

  protected override render(): TemplateResult {
    const said = this.said;
    return html`<section class="undo" role="status" ?hidden=${!said}>${said ? html`
      <p><b class="ttl">${said.title}</b> ${said.time}</p>
      ${said.lines.map((l) => html`<p><b>${l.letter}</b> ${l.words}<br><span class="s">${l.source}</span></p>`)}
      ${this.acts.length ? html`<div class="row">${this.acts.map((a) => button(a))}</div>` : nothing}` : nothing}</section>`;
  }
}
customElements.define("ew-undo", UndoPanel);
