// No production is open: it is begun, or looked for.
import { html, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import { actRow, Screen, type Act } from "../look";
import { production as words } from "../words";
import { trouble } from "./files";

export class None extends Screen {
  static override properties = { told: { state: true } };
  private declare told: string;

  constructor() {
    super();
    new Watched(this);
    this.told = "";
  }

  protected override render(): TemplateResult {
    const look: Act = { words: words.look, press: () => void this.look() };
    return html`<main><div class="head"><h1>${words.none}</h1></div><p>${day.begins ? words.noneYet : words.rule}</p>
        <p role="status">${this.told}</p></main>
      <footer class="hand">${day.begins ? actRow([look], { words: words.add, press: () => day.newProduction() })
        : actRow([], look)}</footer>`;
  }

  private async look(): Promise<void> {
    this.told = "";
    this.told = await day.productionsThere().then(() => words.stillNone, trouble);
  }
}
customElements.define("ew-none", None);
