// Find: a clip by its name or a timecode, its camera, day, scene or take, or by what is off with it.
import { html, nothing, type PropertyValues, type TemplateResult } from "lit";
import { Asked, day, Unreachable } from "../day";
import type { RecordsPage } from "../engine/answers.gen";
import { asked, deviationKinds, type ClipQuery, type ListedClip } from "../find/query";
import { actRow, chips, Plain, Screen } from "../look";
import { trouble } from "../place/files";
import { find as words, upper } from "../words";
import { nameOf, type Listed } from "./names";

type By = "camera" | "day" | "scene" | "take" | "deviation" | "least";
const units = ["mired", "Duv", "steps"];
const listedBy = ["camera", "day", "scene"] as const;
const shownAtOnce = 60;

/** ew-find-box tells ew-found: the clip that somebody went to. */
export class FindBox extends Plain {
  static override properties = {
    text: { state: true }, at: { state: true }, exactly: { state: true }, by: { state: true }, open: { state: true },
      found: { state: true },
    told: { state: true }, full: { type: Boolean }, off: { state: true }, unit: { state: true },
  };
  declare full: boolean; // the filters stand open
  private declare text: string;
  private declare at: number;
  private declare exactly: boolean;
  private declare by: Partial<Record<By, string>>;
  private declare open: By | undefined;
  private declare found: { clips: ListedClip[]; more: number } | undefined;
  private declare told: string;
  private declare off: string; // how far off at least, as typed
  private declare unit: string;
  private turn = 0;

  private readonly records = new Asked<RecordsPage>(this, "list", () => {
    const kind = listedBy.find((k) => k === this.open);
    return kind ? { kind, limit: 500 } : undefined;
  });

  constructor() {
    super();
    this.text = this.told = this.off = "";
    this.unit = units[0]!;
    this.at = 0;
    this.full = this.exactly = false;
    this.by = {};
  }

  override focus(): void { void this.updateComplete.then(() => this.querySelector("input")?.focus()); }

  /** query is what is asked; undefined while that is nothing. A name of one letter finds too many. */
  private get query(): ClipQuery | undefined {
    const typed = this.text.trim().length > 1 ? asked(this.text, this.exactly) : {};
    const query = { ...typed, ...this.by };
    return Object.keys(query).length > 0 ? query : undefined;
  }

  protected override willUpdate(changed: PropertyValues): void {
    if (["text", "exactly", "by"].some((name) => changed.has(name))) void this.look();
  }

  private async look(): Promise<void> {
    const turn = ++this.turn, query = this.query;
    let found: FindBox["found"], told = "";
    try {
      if (query) found = { more: 0, ...await day.find(query) };
    } catch (e) {
      told = e instanceof Unreachable ? trouble(e) : words.elsewhere(e instanceof Error ? e.message : String(e));
    }
    if (turn !== this.turn) return;
    this.found = found;
    this.told = told;
    this.at = 0;
  }

  private go(clip: ListedClip | undefined): void {
    if (!clip) return;
    this.text = this.off = "";
    this.by = {};
    this.open = undefined;
    this.querySelector("input")?.blur();
    this.tell<ListedClip>("ew-found", clip);
  }

  private key(e: KeyboardEvent): void {
    const all = this.found?.clips ?? [];
    if (e.key === "Escape" ? this.text === "" : all.length === 0) return; // then the key is for what is around the box
    if (e.key === "ArrowDown") this.at = Math.min(this.at + 1, all.length - 1);
    else if (e.key === "ArrowUp") this.at = Math.max(this.at - 1, 0);
    else if (e.key === "Escape") this.text = "";
    else return;
    e.preventDefault();
  }

  protected override render(): TemplateResult {
    const all = this.found?.clips ?? [], more = (this.found?.more ?? 0) + Math.max(0, all.length - shownAtOnce);
    return html`<form class="row find-box" role="search" @submit=${(e: Event) => { e.preventDefault(); this.go(all[this.at] ?? all[0]); }}>
        <input class="input grow" type="search" aria-label=${words.label} placeholder=${words.label} autocomplete="off"
          autocapitalize="characters" spellcheck="false" .value=${this.text}
          @input=${(e: Event) => { this.text = (e.target as HTMLInputElement).value; }} @keydown=${this.key}>
        <button class="b">${words.find}</button>${this.shows ? nothing : html`<button type="button" class="b"
          @click=${() => { this.full = true; }}>${words.more}</button>`}</form>
      ${this.shows ? this.filters() : nothing}
      ${this.told ? html`<p role="alert">${this.told}</p>` : nothing}
      ${this.found && all.length === 0 ? html`<p role="status">${words.none}</p>` : nothing}
      ${this.query ? all.slice(0, shownAtOnce).map((c, i) => this.row(c, i === this.at)) : nothing}
      ${this.query && more > 0 ? html`<p class="s">${words.and(more)}</p>` : nothing}`;
  }

  private row(c: ListedClip, on: boolean): TemplateResult {
    const where = [
      [c.scene, c.setUp].filter(Boolean).join(" "), c.takes ? words.takeOf(c.takes.join(", ")) : "", c.timecodeStart ?? "",
      c.day ? `${words.by.day.toLowerCase()} ${c.day}` : "",
    ];
    return html`<button type="button" class="note" aria-pressed=${on} data-clip=${c.clip} @click=${() => this.go(c)}>
      <b>${c.name ?? c.camera ?? ""}</b><span class="grow s">${where.filter(Boolean).join(", ")}</span></button>`;
  }

  /** shows says that the filters stand open. */
  private get shows(): boolean { return this.full || this.exactly || Object.keys(this.by).length > 0; }

  private filters(): TemplateResult {
    const button = (of: By): TemplateResult => html`<button type="button" class="b" aria-pressed=${this.by[of] !== undefined}
      aria-expanded=${this.open === of} @click=${() => { this.open = this.open === of ? undefined : of; }}>${words.by[of]}</button>`;
    return html`<p class="s">${words.says}</p><div class="row" role="group" aria-label=${words.filters}>
        <button type="button" class="b" aria-pressed=${this.exactly}
          @click=${() => { this.exactly = !this.exactly; }}>${words.exactly}</button>
        ${(["camera", "day", "scene", "take", "deviation", "least"] as const).map(button)}</div>${this.choices()}`;
  }

  private choices(): TemplateResult | typeof nothing {
    const of = this.open;
    if (!of) return nothing;
    if (of === "take") {
      return html`<label class="label"><span class="s">${words.takeNumber}</span><input class="input" inputmode="numeric" maxlength="12"
        .value=${this.by.take ?? ""} @input=${(e: Event) => this.set("take", (e.target as HTMLInputElement).value.trim(), true)}></label>`;
    }
    if (of === "least") {
      return html`<div class="label"><label class="label"><span class="s">${words.leastSays}</span><input
        class="input" inputmode="decimal" maxlength="8"
          .value=${this.off} @input=${(e: Event) => this.setLeast((e.target as HTMLInputElement).value.trim(), this.unit)}></label>
        ${chips(words.unit, units.map((u) => ({ words: u, value: u })), this.unit, (unit) => this.setLeast(this.off, unit))}</div>`;
    }
    const all = of === "deviation" ? deviationKinds.map((k) => ({ words: upper(words.deviation(k)), value: k as string }))
      : ((this.records.value?.records ?? []) as Listed[]).map((r) => ({ words: nameOf(r), value: of === "day" ? r.id : nameOf(r) }));
    return html`<div class="choices">${chips(words.by[of], all, this.by[of], (value) => this.set(of, value))}</div>`;
  }

  /** setLeast asks for what is so far off at least. A comma is a point. */
  private setLeast(off: string, unit: string): void {
    this.off = off;
    this.unit = unit;
    const { least: _, ...rest } = this.by, digits = off.replace(",", ".");
    this.by = digits ? { ...rest, least: `${digits} ${unit}` } : rest;
  }

  /** set asks for it, or no more where it was asked for. */
  private set(of: By, value: string, typed = false): void {
    const { [of]: was, ...rest } = this.by;
    this.by = value === "" || value === was ? rest : { ...rest, [of]: value };
    if (!typed) this.open = undefined;
  }
}
customElements.define("ew-find-box", FindBox);

export class Find extends Screen {
  protected override render(): TemplateResult {
    return html`<main><div class="head"><h1>${words.title}</h1></div>
        <ew-find-box .full=${true} @ew-found=${(e: CustomEvent<ListedClip>) => day.go("takes", { setUp: e.detail.setUpRecord,
          record: e.detail.clip })}></ew-find-box></main>
      <footer class="hand">${actRow([{ words: words.back, press: () => day.back() }])}</footer>`;
  }
}
customElements.define("ew-find", Find);
