// The end of a day: what is open, each a tap from its cure, and the sheets for set and paper. The
// server knows it, because phones that hold work are in it; where it does not answer, that is said.
import { html, nothing, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import { Plain } from "../look";
import { wrap as words } from "../words";
import { download, trouble } from "./files";
import { dayOpen, setUpName } from "./findings";
import { setUpsAsked } from "./set-ups";

interface Item { words: string; toDo: string; address: string; setUpName?: string }
interface Check { dayWords: string; atLocal: string; closedAt?: string; items: Item[] }

export class Wrap extends Plain {
  static override properties = { check: { state: true }, told: { state: true } };
  private declare check: Check | undefined;
  private declare told: string;
  private readonly setUps = setUpsAsked(this);

  constructor() {
    super();
    new Watched(this);
    this.told = "";
  }

  private get path(): string { return `${day.production?.invented ? "/look-around" : ""}/v1/productions/${day.here.production}`; }

  private async trying(what: () => Promise<void>): Promise<void> {
    this.told = words.asks;
    try {
      await what();
      this.told = "";
    } catch (e) {
      this.told = trouble(e);
    }
  }

  private look(today: string): Promise<void> {
    return this.trying(async () => {
      this.check = await (await day.askServer("GET", `${this.path}/wrap?day=${today}`)).json() as Check;
    });
  }

  private sheet(said: string, path: string): TemplateResult {
    return html`<button type="button" class="b" @click=${() => void this.trying(() => download(`${this.path}/${path}`,
      "sheet.html"))}>${said}</button>`;
  }

  protected override render(): TemplateResult | typeof nothing {
    const today = dayOpen(this.setUps.value?.setUps), setUp = day.here.setUp;
    if (!today || !setUp) return nothing;
    const here = this.setUps.value?.setUps?.find((l) => l.setUp === setUp), name = setUpName(this.setUps.value?.setUps, setUp);
    return html`<section class="label"><h2 class="ttl">${words.title}</h2>
      <button type="button" class="b" @click=${() => void this.look(today)}>${words.look}</button>
      ${this.told ? html`<p role="status">${this.told}</p>` : nothing}${this.check ? this.list(this.check) : nothing}
      <h2 class="ttl">${words.sheets}</h2><p class="s">${words.why}</p>
      <div class="row">${this.sheet(words.rebuild(name), `set-ups/${setUp}/rebuild.html`)}${this.sheet(words.rigging,
        `rigging.html?day=${today}`)}
        ${here?.scene ? this.sheet(words.scene, `scenes/${here.scene}/continuity.html`) : nothing}</div></section>`;
  }

  private list(c: Check): TemplateResult {
    return html`<p role="status"><b>${words.open(c.items.length)}</b> ${words.asOf(c.dayWords, c.atLocal, c.closedAt !== undefined)}</p>
      ${c.items.map((i) => html`<a class="note" href=${i.address}><span class="grow">${i.setUpName
        ? html`<span class="s">${i.setUpName}</span><br>` : nothing}${i.words}<br><b>${i.toDo}</b></span></a>`)}`;
  }
}
customElements.define("ew-wrap", Wrap);
