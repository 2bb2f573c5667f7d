// A new production: the form that begins it, under the id that it will have.
import { html, type TemplateResult } from "lit";
import { day, Watched, type Save } from "../day";
import { actRow, Screen } from "../look";
import { production as words } from "../words";
import type { RecordForm } from "./record-form";
import "./record-form";

export class ProductionSheet extends Screen {
  readonly #likely = { timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone };
  readonly #begin = (what: Save): ReturnType<typeof day.begin> => day.begin(what);

  constructor() {
    super();
    new Watched(this);
  }

  protected override render(): TemplateResult {
    return html`<main><div class="head"><h1>${words.title}</h1></div><p class="s">${words.what}</p>
        <ew-record-form .kind=${"production"} .likely=${this.#likely} .saving=${this.#begin}
          @ew-saved=${() => day.go("now")}></ew-record-form></main>
      <footer class="hand">${actRow([{ words: words.back, press: () => day.back() }],
        { words: words.begin, press: () => void this.querySelector<RecordForm>("ew-record-form")?.save() })}</footer>`;
  }
}
customElements.define("ew-production", ProductionSheet);
