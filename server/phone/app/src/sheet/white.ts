// The white of a set-up: what it may be, and at once what each would ask for.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, digits, Watched, type answers, type Value } from "../day";
import { actRow, button, chips, mark, padFields, Screen } from "../look";
import { settingWords } from "../place/camera-said";
import { mayWrite, onlyBack } from "../place/may";
import { offWords, padWords, upper, white as words } from "../words";
import { fieldsOf, number, type Texts } from "./measured";
import { otherChoices, readingChoices, type Choice } from "./white-choices";

type Since = "take" | "start";

export class White extends Screen {
  static override properties = {
    picked: { state: true }, texts: { state: true }, at: { state: true }, cast: { state: true }, since: { state: true },
      supposed: { state: true },
    fault: { state: true },
  };
  declare picked: Choice | "nominal" | undefined;
  declare texts: Texts;
  declare at: string;
  declare cast: string | undefined; // a key of the production's intended casts
  declare since: Since;
  declare supposed: answers.Supposed | undefined;
  declare fault: string | undefined;
  #turn = 0;
  readonly #of = (): { setUp: string } | undefined => (day.here.setUp ? { setUp: day.here.setUp } : undefined);
  readonly now = new Asked<answers.SetUpNow>(this, "now", this.#of);
  readonly lines = new Asked<{ setUps: answers.SetUpLine[] }>(this, "setUps", () => ({}));
  readonly readings = new Asked<answers.RecordsPage>(this, "list", () => this.#of() && { kind: "reading", ...this.#of(), limit: 500 });
  readonly production = new Asked<answers.HandsetRecord>(this, "record",
    () => (day.here.production ? { kind: "production", record: day.here.production } : undefined));

  constructor() {
    super();
    this.texts = {};
    this.at = "cctKelvin";
    this.since = "take";
    new Watched(this);
  }

  get #rule(): Choice["from"] | undefined {
    if (this.picked !== "nominal") return this.picked?.from;
    const kelvin = number(this.texts["cctKelvin"]), duv = number(this.texts["duv"]);
    const daylight = this.production.value?.fields["nominalWhite"]?.value !== "blackBody";
    return kelvin && { as: "nominal", kelvin, locus: daylight ? "blend" : "blackBody", ...(duv && { duv }) };
  }

  get #fields(): Record<string, Value> | undefined {
    const from = this.#rule, n = this.now.value;
    if (!from || !day.here.setUp) return undefined;
    const w = n?.white?.setUp === day.here.setUp ? n.white : undefined, others = w?.contested ?? [];
    const cast = this.cast === undefined ? undefined
      : this.production.value?.fields[`intendedCasts/${this.cast}`]?.value as Value | undefined;
    return {
      setUp: day.here.setUp, from, ...(cast && { intendedCast: cast }),
      appliesFrom: this.since === "start" || !n ? { as: "start" } : { as: "takeNumber", number: digits(String(n.nextTake)) },
      ...(w && { supersedes: w.white }), ...(others.length > 0 && { settles: others.map((o) => o.white) }),
    };
  }

  #pick(change: Partial<Pick<White, "picked" | "cast" | "since" | "texts">>): void {
    Object.assign(this, change);
    void this.#suppose();
  }

  async #suppose(): Promise<void> {
    const turn = ++this.#turn, typed = this.#fields;
    this.fault = undefined;
    const said = typed && await day.ask<answers.Supposed>("suppose", { kind: "white", typed }).then((a) => a.value, (e: Error) => {
      if (turn === this.#turn && this.picked !== "nominal") this.fault = e.message;
      return undefined;
    });
    if (turn === this.#turn) this.supposed = said;
  }

  async #choose(): Promise<void> {
    const fields = this.#fields;
    if (!fields) {
      this.fault = words.pick;
      return;
    }
    await day.save({ kind: "white", fields });
    day.go(day.here.place);
  }

  protected override render(): TemplateResult {
    const nominal = this.picked === "nominal", fields = fieldsOf("cctDuv", this.texts).slice(0, 2);
    return html`<main class=${nominal ? "low" : ""}><h1 class="big">${words.title}</h1>${nominal ? nothing : this.#list()}${this.#said()}
      ${nominal ? padFields(fields, this.at, (name) => { this.at = name; }) : nothing}</main>
      <footer class="hand">${!mayWrite() ? onlyBack() : html`${this.#chips()}${nominal ? html`<ew-pad .fields=${fields} .at=${this.at}
        .save=${words.choose} .words=${padWords} @ew-save=${() => void this.#choose()}
          @ew-field=${(e: CustomEvent<string>) => { this.at = e.detail; }}
        @ew-type=${(e: CustomEvent<{ name: string; text: string }>) => this.#pick({ texts: { ...this.texts,
          [e.detail.name]: e.detail.text } })}></ew-pad>
        <div class="row">${button({ words: words.back, press: () => this.#pick({ picked: undefined }) })}</div>`
      : actRow([{ words: words.back, press: () => day.back() }],
        { words: words.choose, small: this.supposed?.white?.color?.words, press: () => void this.#choose() })}`}</footer>`;
  }

  #list(): TemplateResult {
    const readings = readingChoices(this.readings.value?.records ?? [], this.now.value);
    return html`<h2 class="s">${words.readings}</h2>${readings.length ? readings.map((c) => this.#row(c)) : html`<p>${words.noReading}</p>`}
      <h2 class="s">${words.other}</h2>
      <button type="button" class="note" aria-pressed="false"
        @click=${() => this.#pick({ picked: "nominal" })}><b>${words.nominal}</b></button>
      ${otherChoices(this.now.value, this.lines.value?.setUps ?? []).map((c) => this.#row(c))}`;
  }

  /** The picked row says what it asks for. */
  #row(c: Choice): TemplateResult {
    const on = this.picked !== "nominal" && this.picked?.key === c.key;
    return html`<button type="button" class="note" aria-pressed=${on ? "true" : "false"} @click=${() => this.#pick({ picked: c })}>
      <span class="grow"><b>${c.words}</b> <span class="s">${c.small}</span></span></button>${on ? this.#asks() : nothing}`;
  }

  #said(): TemplateResult | typeof nothing {
    if (this.fault) return html`<p role="alert"><b>${upper(this.fault)}</b></p>`;
    return this.picked === "nominal" ? this.#asks() : nothing;
  }

  #asks(): TemplateResult | typeof nothing {
    const s = this.supposed, w = s?.white;
    if (!s || !w) return nothing;
    const contested = (this.now.value?.white?.contested?.length ?? 0) + 1;
    return html`<section class="panel" role="status"><p><b class="ttl">${w.color?.words ?? upper(w.problem ?? words.cantTell)}</b></p>
      ${contested > 1 ? html`<p>${words.settles(contested)}</p>` : nothing}
      <p class="s">${words.wouldDial}</p>${s.cameras.map((c) => html`<p><b>${c.letter}</b> ${c.toDial
        ? c.last?.verdict === "inside" ? words.asItIs : settingWords(c.toDial) : upper(c.problem ?? words.cantTell)}</p>`)}
      ${s.lights.length ? html`<p class="s">${words.wouldBe}</p>` : nothing}${s.lights.map((l, i) => {
        const off = l.offOwnColor ?? l.cast, v = s.verdicts.lights[i];
        return html`<p class="say">${v ? mark({ ...v, mired: off?.mired }) : nothing}<span>${upper(l.name)}: ${off ? offWords(off) || "0"
          : l.problem ?? ""}</span></p>`;
      })}</section>`;
  }

  #chips(): TemplateResult | typeof nothing {
    if (!this.picked) return nothing;
    const n = this.now.value,
      named = Object.entries(this.production.value?.fields ?? {}).filter(([name]) => name.startsWith("intendedCasts/"));
    const casts = named.map(([name, shown]) => ({ words: String((shown.value as { name?: unknown }).name ?? name),
      value: name.slice("intendedCasts/".length) }));
    return html`${casts.length ? chips<string | undefined>(words.cast, [{ words: words.none, value: undefined }, ...casts], this.cast,
      (cast) => this.#pick({ cast })) : nothing}
      ${n && n.nextTake > 1
        ? chips<Since>(words.from, [{ words: words.fromTake(n.nextTake), value: "take" }, { words: words.fromStart, value: "start" }],
        this.since, (since) => this.#pick({ since })) : nothing}`;
  }
}
customElements.define("ew-white", White);
