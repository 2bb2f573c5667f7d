// Takes: what did we shoot, newest first; correct it. Set-up by set-up, and only those near the eye
// are asked for. On a wide screen a table, with the picked clip beside it.
import { html, nothing, type TemplateResult } from "lit";
import { repeat } from "lit/directives/repeat.js";
import { Asked, day, Watched } from "../day";
import type { Next, SetUpLine, TakeLine } from "../engine/answers.gen";
import type { ListedClip } from "../find/query";
import { actRow, noActs, Screen, strip, type Act } from "../look";
import { change } from "../sheet/change";
import type { FindBox } from "../sheet/find";
import { clock, states, takes as words } from "../words";
import { notesAsked, notesIn, openAt } from "./asked-notes";
import { setUpName } from "./findings";
import { mayNote, mayWrite, whyNot } from "./may";
import { atSetUp, setUpsAsked } from "./set-ups";
import { takeKey, type Filter, type Picked } from "./takes-of";
import "../sheet/find";
import "./clip";
import "./filters";
import { byDay } from "./takes-day";

const wideFrom = matchMedia("(min-width: 1100px) and (min-height: 30.01em)");

export class TakesPlace extends Screen {
  static override properties = { filter: { state: true }, picked: { state: true }, wanted: { state: true }, twice: { state: true } };
  private declare filter: Filter;
  private declare picked: Picked | undefined;
  private declare wanted: string;
  private declare twice: string;
  private pressed = 0;
  private wantedIn: string | undefined; // the set-up of what is wanted
  private gone = ""; // where the address led to last

  private readonly setUps = setUpsAsked(this);
  private readonly next = new Asked<Next>(this, "next", () => atSetUp());
  private readonly notes = notesAsked(this);
  private readonly resized = (): void => this.requestUpdate();
  private readonly keys = (e: KeyboardEvent): void => this.key(e);

  constructor() {
    super();
    new Watched(this);
    this.filter = {};
    this.wanted = "";
    this.twice = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    wideFrom.addEventListener("change", this.resized);
    addEventListener("keydown", this.keys);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    wideFrom.removeEventListener("change", this.resized);
    removeEventListener("keydown", this.keys);
  }

  protected override firstUpdated(): void {
    if (wideFrom.matches) this.querySelector<FindBox>("ew-find-box")?.focus();
    else super.firstUpdated();
  }

  protected override willUpdate(): void {
    if (this.address === this.gone || day.here.sheet) return;
    this.gone = this.address;
    const { record = "", within = day.here.setUp, day: of, scene, off } = day.here.what, { camera } = day.here;
    this.wanted = record;
    this.wantedIn = within;
    this.filter = { ...(of && { day: of }), ...(scene && { scene }), ...(camera && { camera }), ...(off && { off: true }) };
  }

  private get address(): string { return JSON.stringify([day.here.camera, day.here.what]); }

  /** mark notes what is picked, and by what it was found, for whoever comes back. */
  private mark(what: Record<string, string | undefined>): void {
    day.mark(what);
    this.gone = this.address;
  }

  /** lines are the set-ups that the filter leaves, newest first. */
  private get lines(): SetUpLine[] {
    const { day: of, scene } = this.filter;
    return (this.setUps.value?.setUps ?? []).filter((l) => (!of || l.day === of) && (!scene || l.scene === scene));
  }

  protected override render(): TemplateResult {
    return wideFrom.matches ? this.desk() : this.phone();
  }

  private list(wide: boolean): TemplateResult {
    const wanted = { setUp: this.wantedIn, record: this.wanted }, notes = notesIn(this.notes.value);
    return html`${this.setUps.early ? html`<p class="s">${states.olderDays}</p>` : nothing}
      ${this.setUps.value && this.lines.length === 0 ? html`<p>${words.none}</p>` : nothing}
      ${repeat(byDay(this.lines), (d) => d[0]?.day ?? "",
        (d) => html`<ew-takes-day .lines=${d} .filter=${this.filter} .wide=${wide} .notes=${notes}
        .picked=${this.picked?.key ?? ""} .wanted=${wanted}
          @ew-picked=${(e: CustomEvent<Picked>) => this.pick(e.detail)}></ew-takes-day>`)}`;
  }

  private pick(picked: Picked): void {
    this.picked = picked;
    this.wanted = "";
    this.mark({ record: wideFrom.matches && picked.clip ? picked.clip.clip : takeKey(picked.take), within: picked.take.setUp });
  }

  private narrow(filter: Filter): void {
    this.filter = filter;
    this.mark({ day: filter.day, scene: filter.scene, camera: filter.camera ?? "", off: filter.off ? "yes" : "" });
  }

  private filters(): TemplateResult {
    return html`<ew-filters .filter=${this.filter} .setUps=${this.setUps.value?.setUps ?? []}
      @ew-filter=${(e: CustomEvent<Filter>) => this.narrow(e.detail)}></ew-filters>`;
  }

  private phone(): TemplateResult {
    return html`<main class="takes"><h1 class="vh">${words.title}</h1>${this.list(false)}</main>
      <footer class="hand"><ew-done></ew-done>${this.question()}${this.filters()}
        ${this.twice ? html`<p role="status">${this.twice}</p>` : nothing}
        ${mayWrite() ? this.acts(this.picked?.take) : noActs(whyNot())}</footer>`;
  }

  /** question is what somebody asks about the take that is picked. */
  private question(): TemplateResult | typeof nothing {
    const take = this.picked?.take, asked = take && openAt(take, notesIn(this.notes.value));
    if (!asked) return nothing;
    const answer = { words: words.answer, press: () => day.go("note", { answers: asked.id }) };
    return strip(words.asks(asked.madeBy ?? ""), clock(asked.madeAt ?? ""), asked.text ?? "", mayNote() ? [answer] : []);
  }

  private desk(): TemplateResult {
    const p = this.picked;
    return html`<main class="takes"><h1 class="vh">${words.title}</h1>
        <ew-find-box @ew-found=${(e: CustomEvent<ListedClip>) => this.found(e.detail)}></ew-find-box>
        <div class="desk-row">${this.filters()}<button type="button" class="b" @click=${() => this.move(-1)}>${words.up}</button>
          <button type="button" class="b" @click=${() => this.move(1)}>${words.down}</button>
          ${p ? html`<button type="button" class="b" @click=${() => this.open()}>${words.open}</button>` : nothing}</div>
        ${this.list(true)}</main>
      <ew-clip .line=${p?.clip} .take=${p?.take} .setUp=${setUpName(this.setUps.value?.setUps, p?.take.setUp)}></ew-clip>`;
  }

  private found(clip: ListedClip): void {
    this.gone = "";
    day.go("takes", { setUp: clip.setUpRecord, record: clip.clip });
  }

  private acts(take: TakeLine | undefined): TemplateResult {
    const number = this.next.value?.number, name = setUpName(this.setUps.value?.setUps, day.here.setUp);
    const next: Act = { words: words.next, small: number ? words.nextIs(name, String(number)) : name, press: () => void this.takeNext() };
    if (!take) return actRow([{ words: words.find, press: () => day.go("find") }], next);
    const acts: Act[] = [];
    if (take.take) acts.push({ words: take.state === "noGood" ? words.good : words.noGood, press: () => void this.noGood(take) });
    acts.push({ words: words.change, press: () => this.open() });
    return actRow(acts, next);
  }

  /** takeNext logs the next take; a second press within 1.5 s does nothing, and says so. */
  private async takeNext(): Promise<void> {
    const setUp = day.here.setUp, now = Date.now();
    if (!setUp) return;
    this.twice = now - this.pressed < 1500 ? words.isLogged : "";
    if (this.twice) return;
    this.pressed = now;
    await day.event(setUp, { event: "nextTake" });
  }

  private open(row?: HTMLElement): void {
    row?.click(); // which picks it
    const p = this.picked;
    if (p) day.go("take", { setUp: p.take.setUp, kind: p.take.take ? "take" : "clip", record: takeKey(p.take) });
  }

  private async noGood(take: TakeLine): Promise<void> {
    const state = take.state === "noGood" ? "complete" : "noGood";
    await change("take", take.take ?? "", { state });
    if (this.picked) this.picked = { ...this.picked, take: { ...take, state } };
  }

  private key(e: KeyboardEvent): void {
    const on = (all: string): HTMLElement | null | undefined => (e.target as Element).closest?.<HTMLElement>(all);
    if (!wideFrom.matches || day.here.sheet || e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey) return;
    const typing = on("input, textarea, select"), row = on("tr[data-row]");
    if (e.key === "/" && !typing) this.querySelector<FindBox>("ew-find-box")?.focus();
    else if (e.key === "Enter" && row) this.open(row);
    else if (e.key === "Enter" && !on("button, a, input, summary, select") && this.picked) this.open();
    else if ((e.key === "ArrowDown" || e.key === "ArrowUp") && (!typing || on("ew-find-box"))) this.move(e.key === "ArrowDown" ? 1 : -1);
    else return;
    e.preventDefault();
  }

  /** move picks the row before or after the picked one. */
  private move(by: 1 | -1): void {
    const rows = [...this.querySelectorAll<HTMLElement>("tr[data-row]")];
    const at = rows.findIndex((r) => r.dataset["row"] === this.picked?.key), to = rows[at < 0 ? 0 : at + by];
    to?.click();
    to?.scrollIntoView({ block: "nearest" });
  }
}
customElements.define("ew-takes", TakesPlace);
