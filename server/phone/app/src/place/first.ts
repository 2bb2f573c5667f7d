// The first run: what this is, eight boxes for a code, or a look around in an invented production.
import { html, nothing, type TemplateResult } from "lit";
import { day, Refused, Unreachable, Watched } from "../day";
import { actRow, noActs, Screen, type Act } from "../look";
import { first as words } from "../words";
import { keepFinish, startOf, startPlace } from "./start";
import "./who";

const codeLength = 8;

/** PairScreen lets a phone in: by a code that is typed, or by the secret that was scanned. */
abstract class PairScreen extends Screen {
  static override properties = { code: { state: true }, by: { state: true }, told: { state: true }, busy: { state: true } };
  private declare code: string;
  private declare by: string;
  private declare told: string;
  private declare busy: boolean;
  protected abstract readonly back: boolean;

  constructor() {
    super();
    new Watched(this);
    this.code = this.told = "";
    this.by = day.by;
    this.busy = false;
  }

  protected override render(): TemplateResult {
    return html`<main>
        <div class="head"><h1>${words.title}</h1><p class="s">${words.what}</p></div>
        <section class="panel">${day.secret ? html`<p>${words.scanned}</p>` : this.boxes()}
          ${this.told ? html`<p class="fault" role="alert">${this.told}</p>` : nothing}</section>
        <label class="label"><span class="ttl">${words.holds}</span><input class="input" maxlength="80" autocomplete="off"
          placeholder=${words.example}
          .value=${this.by} @input=${(e: Event) => { this.by = (e.target as HTMLInputElement).value; }}></label>
        <ew-start-place></ew-start-place><ew-looks></ew-looks></main>
      <footer class="hand">${this.acts()}${this.back ? nothing : html`<p class="s">${words.aroundIs}</p>`}</footer>`;
  }

  private boxes(): TemplateResult {
    const letters = [...Array(codeLength).keys()].map((i) => this.code[i] ?? "");
    return html`<label class="label"><span class="s">${words.code}</span><span class="code">
      <input class="code-in" autocapitalize="characters" autocomplete="one-time-code" spellcheck="false" maxlength="12"
        aria-label=${words.code} .value=${this.code}
        @input=${(e: Event) => this.typed(e.target as HTMLInputElement)} @keydown=${(e: KeyboardEvent) =>
          { if (e.key === "Enter") void this.pair(); }}>
      ${[0, 4].map((at) => html`<span aria-hidden="true">${letters.slice(at, at + 4).map((l, i) => html`<span
        class=${at + i === this.code.length ? "next" : ""}>${l}</span>`)}</span>`)}
    </span></label>`;
  }

  private typed(input: HTMLInputElement): void {
    this.code = input.value.toUpperCase().replace(/[^A-Z0-9]/g, "").slice(0, codeLength);
    input.value = this.code;
    this.told = "";
  }

  private acts(): TemplateResult {
    if (this.busy) return noActs(words.wait);
    const around: Act = this.back ? { words: words.back, press: () => day.back() } : { words: words.around, press: () =>
      void this.lookAround() };
    return actRow([around], { words: words.pair, press: () => void this.pair() });
  }

  private async pair(): Promise<void> {
    const code = day.secret ?? this.code;
    if (!day.secret && this.code.length < codeLength) {
      this.told = words.eight;
      return;
    }
    await this.trying(async () => {
      await day.pair(code, { label: words.label(this.by), ...(this.by.trim() && { by: this.by.trim() }) });
      if (day.looks === "post" && startOf() === "takes") keepFinish();
      if (this.back || startPlace() !== "now") day.go(startPlace());
    });
  }

  private lookAround(): Promise<void> { return this.trying(() => day.lookAround()); }

  private async trying(what: () => Promise<unknown>): Promise<void> {
    this.busy = true;
    this.told = "";
    try {
      await what();
    } catch (e) {
      this.told = e instanceof Refused ? words.refused(e.message) : e instanceof Unreachable ? words.unreachable
        : words.refused(String(e instanceof Error ? e.message : e));
    }
    this.busy = false;
  }
}

export class First extends PairScreen {
  protected readonly back = false;
}
customElements.define("ew-first", First);

export class Pair extends PairScreen {
  protected readonly back = true;
}
customElements.define("ew-pair", Pair);
