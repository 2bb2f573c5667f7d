// Find: a clip by the beginning of its name, or by a timecode.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day } from "../day";
import type { ClipFound } from "../engine/answers.gen";
import { actRow, Plain, Screen } from "../look";
import { setUpName } from "../place/findings";
import { setUpsAsked } from "../place/set-ups";
import { find as words } from "../words";

/** ew-find-box tells ew-found: the clip that somebody went to. */
export class FindBox extends Plain {
  static override properties = { text: { state: true }, at: { state: true } };
  private declare text: string;
  private declare at: number;

  private readonly setUps = setUpsAsked(this);
  private readonly found = new Asked<{ clips: ClipFound[] }>(this, "find", () => (this.text.trim().length > 1 ? { text: this.text.trim(),
    limit: 12 } : undefined));

  constructor() {
    super();
    this.text = "";
    this.at = 0;
  }

  override focus(): void { void this.updateComplete.then(() => this.querySelector("input")?.focus()); }

  private go(clip: ClipFound | undefined): void {
    if (!clip) return;
    this.text = "";
    this.tell<ClipFound>("ew-found", clip);
  }

  private key(e: KeyboardEvent): void {
    const all = this.found.value?.clips ?? [];
    if (e.key === "ArrowDown") this.at = Math.min(this.at + 1, all.length - 1);
    else if (e.key === "ArrowUp") this.at = Math.max(this.at - 1, 0);
    else if (e.key === "Escape") this.text = "";
    else return;
    e.preventDefault();
  }

  protected override render(): TemplateResult {
    const all = this.found.value?.clips ?? [], typed = this.text.trim().length > 1;
    return html`<form class="row find-box" role="search" @submit=${(e: Event) => { e.preventDefault(); this.go(all[this.at] ?? all[0]); }}>
        <input class="input grow" type="search" aria-label=${words.label} placeholder=${words.label} autocomplete="off"
          autocapitalize="characters" spellcheck="false"
          .value=${this.text} @input=${(e: Event) => { this.text = (e.target as HTMLInputElement).value; this.at = 0; }}
            @keydown=${this.key}>
        <button class="b">${words.find}</button></form>
      ${typed && this.found.value && all.length === 0 ? html`<p role="status">${words.none(this.text.trim())}</p>` : nothing}
      ${typed ? all.map((c, i) => html`<button type="button" class="note" aria-pressed=${i === this.at} @click=${() => this.go(c)}>
        <b>${c.name ?? c.letter}</b><span class="grow s">${[setUpName(this.setUps.value?.setUps, c.setUp), c.timecode?.start ?? "",
          c.date ?? ""].filter(Boolean).join(", ")}</span></button>`) : nothing}`;
  }
}
customElements.define("ew-find-box", FindBox);

export class Find extends Screen {
  protected override render(): TemplateResult {
    return html`<main><div class="head"><h1>${words.title}</h1></div>
        <ew-find-box @ew-found=${(e: CustomEvent<ClipFound>) => day.go("takes", { setUp: e.detail.setUp,
          record: e.detail.clip })}></ew-find-box></main>
      <footer class="hand">${actRow([{ words: words.back, press: () => day.back() }])}</footer>`;
  }
}
customElements.define("ew-find", Find);
