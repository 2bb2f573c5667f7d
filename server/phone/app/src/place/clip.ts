// A clip, for whoever finishes the picture: the verdict, what was set, what should have been, notes
// from the set, the correction with what is to be known of it, and the downloads.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched } from "../day";
import type { ClipCorrections, ClipLine, Correction, RGB, SetUpNow, TakeLine } from "../engine/answers.gen";
import { Plain, ruler } from "../look";
import { verdict } from "../look/verdict";
import { clip as words, clock, howKnown, offWords, upper } from "../words";
import { isOpen, notesAsked, notesIn } from "./asked-notes";
import { mayNote, mayWrite } from "./may";
import "./files";

export class ClipSide extends Plain {
  static override properties = { line: { attribute: false }, take: { attribute: false }, setUp: {}, copied: { state: true },
    asking: { state: true } };
  declare line: ClipLine | undefined;
  declare take: TakeLine | undefined;
  declare setUp: string; // its name
  private declare copied: string;
  private declare asking: string;

  private readonly correction = new Asked<ClipCorrections>(this, "correct", () => (this.line ? { clip: this.line.clip } : undefined));
  private readonly notes = notesAsked(this);
  private readonly now = new Asked<SetUpNow>(this, "now", () => (this.take ? { setUp: this.take.setUp } : undefined));

  constructor() {
    super();
    new Watched(this);
    this.setUp = this.copied = this.asking = "";
  }

  protected override render(): TemplateResult {
    const c = this.line, t = this.take;
    if (!c || !t) return html`<aside class="side" aria-label=${words.title}><p class="s">${words.pick}</p><ew-files></ew-files></aside>`;
    const limit = this.now.value?.limits?.find((l) => l.role === "camera")?.mired;
    const off = c.offAim ? offWords(c.offAim) || words.onAim : "";
    return html`<aside class="side" aria-label=${words.of(c.name ?? c.letter)}><h2 class="big">${c.name ?? words.noName}</h2>
      <p>${words.where(this.setUp, t.name, c.letter)}<br><span class="s">${words.timecode(c.timecode?.start, c.timecode?.end)
        || clock(t.at)}</span></p>
      ${c.verdict ? html`<p class="say">${verdict({ word: c.verdict, times: c.times, mired: c.offAim?.mired })}<b>${off}</b></p>` : nothing}
      ${limit ? ruler(c.offAim?.mired, limit, off || words.notKnown) : nothing}
      ${this.facts(c)}${this.noted(c, t)}${this.corrections()}
      ${mayNote() ? this.ask(c) : nothing}<ew-files></ew-files></aside>`;
  }

  private facts(c: ClipLine): TemplateResult {
    const k = this.correction.value;
    const rows: [string, string | TemplateResult][] = [[words.setTo, html`<b>${c.setting.words}</b> ${howKnown(c.settingsAre,
      c.readOffAt)}`]];
    if (k?.aim) rows.push([words.shouldBe, html`<b>${k.aim.words}</b>`]);
    if (k?.light) rows.push([words.light, k.light.words]);
    if (k) rows.push([words.file, [k.whiteInFootage ? words.whiteIn(k.whiteInFootage) : "", k.encoding].filter(Boolean).join(", ")]);
    return html`<dl class="facts">${rows.map(([name, value]) => html`<dt>${name}</dt><dd>${value}</dd>`)}</dl>`;
  }

  private noted(c: ClipLine, t: TakeLine): TemplateResult[] {
    const about = [c.clip, t.take, t.setUp], all = notesIn(this.notes.value);
    return all.filter((n) => n.about && about.includes(n.about)).map((n) => html`
      <div class="panel"><p
        class="s">${n.madeBy || words.nobody}, ${clock(n.madeAt ?? "")}${isOpen(n, all) ? html`, <b>${words.open}</b>` : ""}</p>
        <p>“${n.text}”</p>${isOpen(n, all) && mayWrite() ? html`<button type="button" class="b"
          @click=${() => day.go("note", { answers: n.id })}>${words.answer}</button>` : nothing}</div>`);
  }

  private corrections(): TemplateResult | typeof nothing {
    const k = this.correction.value;
    if (!k) return this.correction.fault ? html`<p class="s">${upper(this.correction.fault.message)}</p>` : nothing;
    const to = k.toIntent, factors = factorsOf(to);
    return html`<h3><b>${words.correction}</b> <span class="s">${words.toIntent(to.takes)}</span></h3>
      ${to.problem ? html`<p>${upper(to.problem)}</p>` : factors ? html`<p class="say ratios">${(["r", "g", "b"] as const).map((p) => html`
        <span>${p.toUpperCase()} <b>${factors[p].toFixed(3)}</b></span>`)}</p>` : to.setting ? html`<p><b>${to.setting.words}</b></p>`
          : nothing}
      <p class="s">${upper(k.words.split(":")[0] ?? "")}${to.liftsHighlights ? `. ${words.lifts}`
        : ""}${(k.origin.caveats ?? []).map((v) => `. ${upper(v)}`)}</p>
      ${factors ? html`<button type="button" class="b" @click=${() => void this.copy(factors)}>${this.copied === this.line?.clip
        ? words.copied : words.copy}</button>` : nothing}`;
  }

  private async copy(f: RGB): Promise<void> {
    await navigator.clipboard.writeText(`${f.r} ${f.g} ${f.b}`);
    this.copied = this.line?.clip ?? "";
  }

  private ask(c: ClipLine): TemplateResult {
    return html`<form class="row" @submit=${(e: Event) => { e.preventDefault(); void this.send(c); }}>
      <input class="input grow" aria-label=${words.question} placeholder=${words.question} maxlength="2000" autocomplete="off"
        .value=${this.asking}
        @input=${(e: Event) => { this.asking = (e.target as HTMLInputElement).value; }}><button class="b">${words.ask}</button></form>`;
  }

  private async send(c: ClipLine): Promise<void> {
    if (!this.asking.trim()) return;
    await day.save({ kind: "note", fields: { about: c.clip, text: this.asking.trim(), to: { as: "set" } } });
    this.asking = "";
  }
}
customElements.define("ew-clip", ClipSide);

/** factorsOf are the three numbers that the footage takes, whatever they are called there. */
const factorsOf = (k: Correction): RGB | undefined => ({ codeRatio: k.ratio, slope: k.gain, offset: k.codeOffset ?? k.offset,
  stops: k.stops })[k.takes ?? ""];
