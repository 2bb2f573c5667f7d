// Hand over: where the data is, what goes out and comes in, who holds this phone, and Prep.
import { html, nothing, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import { actRow, Screen, type Act } from "../look";
import { handover as words, production as begun } from "../words";
import "./files";
import "./server";
import "./who";
import "./wrap";

export class Handover extends Screen {
  constructor() {
    super();
    new Watched(this);
    if (day.paired) void day.productionsThere().catch(() => {}); // those of before stay listed
  }

  private get own(): boolean { return day.paired && !day.production?.invented; }

  protected override render(): TemplateResult {
    return html`<main><div class="head"><h1>${words.title}</h1></div>${this.where()}${this.productions()}
        ${day.paired || day.production?.invented ? html`<ew-wrap></ew-wrap>` : nothing}<ew-files></ew-files>${this.own
          ? html`<ew-server></ew-server>` : nothing}
        <ew-holder></ew-holder><ew-start-place></ew-start-place><ew-looks></ew-looks></main>
      <footer class="hand"><ew-done></ew-done>${this.acts()}</footer>`;
  }

  private where(): TemplateResult {
    const { state, count } = day.status;
    return html`<section class="panel"><h2 class="ttl">${words.where}</h2><p><b>${words.states[state](count)}</b></p>
      ${day.kept === false ? html`<p class="s">${words.notKept}</p>` : day.kept ? html`<p class="s">${words.kept}</p>` : nothing}
      ${day.notices.has("newVersion") ? html`<button type="button" class="b" @click=${() =>
        day.takeVersion()}>${words.takeVersion}</button>` : nothing}</section>`;
  }

  private productions(): TemplateResult {
    return html`<section class="label"><h2 class="ttl">${words.productions}</h2>
      <div class="row" role="group" aria-label=${words.productions}>${day.productions.map((p) => html`<button type="button" class="b"
        aria-pressed=${p.id === day.here.production} @click=${() => day.open(p.id)}>${p.title || words.untitled}${p.invented
          ? html`<small>${words.invented}</small>` : nothing}</button>`)}</div>
      ${day.production?.invented ? html`<button type="button" class="b" @click=${() =>
        void day.remove(day.production!.id)}>${words.removeInvented}</button>` : nothing}
      ${day.production?.gone ? html`<p>${day.production.gone}</p>` : nothing}
      ${!day.paired ? nothing : day.begins ? html`<button type="button" class="b" @click=${() => day.newProduction()}>${begun.add}</button>`
        : html`<p class="s">${begun.rule}</p>`}</section>`;
  }

  private acts(): TemplateResult {
    const others: Act[] = [{ words: words.prep, press: () => day.go("prep") }];
    if (day.paired) others.push({ words: words.asFile, press: () => void day.saveAsFile(true) });
    const first: Act = day.paired ? { words: words.send, press: () => day.exchange() } : { words: words.pair, press: () => day.go("pair") };
    return actRow(others, first);
  }
}
customElements.define("ew-handover", Handover);
