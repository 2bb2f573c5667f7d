// Now: what is dialled, what is white, and the next take.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type answers } from "../day";
import "./done";
import { actRow, cameraCard, noActs, note, Screen, strip } from "../look";
import { clock, now as words, prep as prepWords, spoken, upper } from "../words";
import { cardSaid, framedFirst } from "./camera-said";
import { mayWrite, whyNot } from "./may";

/** twice is how long a second press of "next take" is taken for the first one. */
const twice = 1500;

export class Now extends Screen {
  static override properties = { said: { state: true } };
  declare said: string | undefined; // that a second press did nothing

  #pressed = -twice;
  #logged = "";
  readonly #of = (): { setUp: string } | undefined => (day.here.setUp ? { setUp: day.here.setUp } : undefined);
  readonly now = new Asked<answers.SetUpNow>(this, "now", this.#of);
  readonly verdicts = new Asked<answers.Verdicts>(this, "verdicts", this.#of);
  readonly next = new Asked<answers.Next>(this, "next", this.#of);
  readonly lines = new Asked<{ setUps: answers.SetUpLine[] }>(this, "setUps", () => ({}));
  readonly takes = new Asked<answers.Takes>(this, "list", () => this.#of() && { ...this.#of(), limit: 1 });
  readonly dayRow = new Asked<answers.HandsetRecord>(this, "record",
    () => this.line?.day ? { kind: "day", record: this.line.day } : undefined);

  readonly #first = (kind: string) => (day.here.setUp ? undefined : { kind, limit: 1 });
  readonly days = new Asked<answers.RecordsPage>(this, "list", () => this.#first("day"));
  readonly bodies = new Asked<answers.RecordsPage>(this, "list", () => this.#first("body"));
  readonly cameras = new Asked<answers.RecordsPage>(this, "list", () => this.#first("camera"));

  constructor() {
    super();
    new Watched(this);
  }

  get line(): answers.SetUpLine | undefined { return this.lines.value?.setUps.find((s) => s.setUp === day.here.setUp); }

  get #number(): string | undefined { return this.next.value === undefined ? undefined : String(this.next.value.number); }

  readonly #take = async (): Promise<void> => {
    const setUp = day.here.setUp, at = performance.now();
    if (!setUp) return;
    if (at - this.#pressed < twice) {
      this.said = words.twice(this.#logged);
      return;
    }
    this.#pressed = at;
    this.#logged = this.#number ?? "";
    this.said = undefined;
    await day.event(setUp, { event: "nextTake" });
  };

  protected override render(): TemplateResult {
    if (!day.here.setUp) return this.#empty();
    return html`<main>${this.#head()}<div
      class="beside"><div>${this.#cards()}${this.#white()}${this.#note()}</div>${this.#lights()}</div></main>
      <footer class="hand"><ew-done .strip=${this.#strip()}></ew-done>
        <p class="s" role="status" ?hidden=${!this.said}>${this.said ?? ""}</p>${this.#acts()}</footer>`;
  }

  #empty(): TemplateResult {
    if (day.here.production === undefined) return html`<ew-none></ew-none>`;
    const lacks = mayWrite() ? this.#lacks : undefined;
    return html`<main><div class="head"><h1>${words.noSetUp}</h1></div>
      <p>${lacks ? words.before[lacks] : words.noSetUpWhy}</p></main>
      <footer class="hand"><ew-done></ew-done>${!mayWrite() ? noActs(whyNot()) : lacks
        ? actRow([], { words: prepWords.add(spoken(lacks)), press: () => day.go("prep", { kind: lacks, record: "new" }) })
        : actRow([], { words: words.nextSetUp, press: () => day.go("setup") })}</footer>`;
  }

  /** #lacks is what a first set-up needs that is not entered yet. */
  get #lacks(): "day" | "body" | "camera" | undefined {
    const none = (page: answers.RecordsPage | undefined) => page?.records.length === 0;
    return none(this.days.value) ? "day" : none(this.bodies.value) ? "body" : none(this.cameras.value) ? "camera" : undefined;
  }

  #head(): TemplateResult {
    const fields = this.dayRow.value?.fields ?? {},
      text = (name: string) => fields[name]?.value === undefined ? "" : String(fields[name].value);
    const of = [text("number") && words.day(text("number")), text("place")].filter(Boolean).join(", ");
    const asOf = this.now.asOf ? words.asOf(clock(this.now.asOf.toISOString())) : "";
    return html`<div class="head"><h1>${this.line?.name ?? ""}</h1><p>${this.line?.place ?? ""} <span class="s">${of}</span></p></div>
      ${asOf || this.now.early ? html`<p class="s">${[asOf, this.now.early ? words.early : ""].filter(Boolean).join("; ")}</p>` : nothing}`;
  }

  #cards(): TemplateResult | typeof nothing {
    const n = this.now.value, v = this.verdicts.value?.cameras ?? [];
    if (!n) return this.now.fault ? html`<p>${this.now.fault.message}</p>` : nothing;
    if (n.cameras.length === 0) return html`<p>${words.noCamera}</p>`;
    const limit = n.limits.find((l) => l.role === "camera"), framed = framedFirst(n.cameras, v);
    return html`<section class="two" aria-label=${words.cameras}>${n.cameras.map((c) => cameraCard(
      cardSaid(c, v.find((x) => x.record === c.camera), limit, c.camera === framed,
        () => day.go("camera", { camera: c.camera }))))}</section>`;
  }

  #white(): TemplateResult | typeof nothing {
    const n = this.now.value, w = n?.white, open = () => (w?.contested ? day.go("settle", { part: "choose" }) : day.go("white"));
    if (!n) return nothing;
    if (!w) {
      return html`<button type="button" class="panel link" @click=${open}><b class="ttl">${words.noWhite}</b>
        <span class="s">${n.reference ? words.meanwhile(n.reference.words) : words.chooseOne}</span></button>`;
    }
    const c = w.color, of = [w.words, w.decidedBy ? `${w.decidedBy} ${clock(w.decidedAt)}` : clock(w.decidedAt)].join("; ");
    const cast = w.intendedCast.name ?? (w.intendedCast.mired || w.intendedCast.duv ? words.cast(w.intendedCast) : "");
    return html`<button type="button" class="panel link" @click=${open}>
      <span><span class="s">${words.whiteHere}</span><br>${c?.cctKelvin !== undefined
        ? html`<b class="big">${Math.round(c.cctKelvin)} K</b> <span class="n">${c.duv === undefined ? "" : words.duv(c.duv)}</span>`
        : html`<b>${c?.words ?? upper(w.problem ?? "")}</b>`}</span>
      ${w.contested ? html`<b>${words.contested(w.contested.length + 1)}</b>` : nothing}
      ${w.chooseAgain ? html`<b>${upper(w.chooseAgain)}</b>` : nothing}
      ${cast ? html`<span>${words.meant(cast)}</span>` : nothing}
      <span class="s">${of}</span></button>`;
  }

  /** #note is the first finding that no card says already. */
  #note(): TemplateResult | typeof nothing {
    const n = this.now.value, v = this.verdicts.value?.deviations ?? [];
    const d = n?.deviations.find((x) => !x.accepted
      && !(x.kind === "setting-off-aim" || x.kind === "no-white" || x.kind === "no-settings"));
    if (!d) return nothing;
    const said = v.find((x) => x.cause === d.cause);
    const verdict = said && { word: said.word, times: said.times, minutes: said.minutes, mired: d.value?.mired };
    return note(verdict, d.headline, () => day.go("settle", { finding: d.cause }));
  }

  /** #lights stand beside on a wide screen, where there is room. */
  #lights(): TemplateResult | typeof nothing {
    const n = this.now.value, v = this.verdicts.value?.lights ?? [];
    if (!n?.lights.length) return nothing;
    return html`<section class="wide-only" aria-label=${words.lights}>${n.lights.map((l) => {
      const said = v.find((x) => x.record === l.light), off = l.offOwnColor ?? l.cast;
      return note(said && { word: said.word, times: said.times, minutes: said.minutes, mired: off?.mired },
        words.light(l.name, l.color?.words ?? l.problem ?? ""), () => day.go("lights", { light: l.light }));
    })}</section>`;
  }

  #strip(): TemplateResult | typeof nothing {
    const last = this.takes.value?.takes[0];
    if (!last) return nothing;
    const names = last.clips.map((c) => c.name ?? `${c.letter} ${words.noName}`).join(", ");
    const what = last.take ? { record: last.take, kind: "take" } : { record: last.clips[0]?.clip, kind: "clip" };
    const change = [{ words: words.change, press: () => day.go("take", what) }];
    return strip(upper(last.name), [last.state === "noGood" ? words.noGood : "", clock(last.at)].filter(Boolean).join(", "), names,
      mayWrite() ? change : []);
  }

  #acts(): TemplateResult {
    if (!mayWrite()) return noActs(whyNot());
    const name = this.line?.name ?? "", number = this.#number;
    return actRow([
      { words: words.other, icon: "other", press: () => day.go("other") },
      { words: words.measure, icon: "measure", press: () => day.go("measure", { light: this.verdicts.value?.due?.light }) },
    ], { words: words.nextTake, small: number ? words.nextIs(name, number) : name, press: () => void this.#take() });
  }
}
customElements.define("ew-now", Now);
