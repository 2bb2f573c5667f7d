// A reading: which light, what the meter says, judged while it is typed.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, EngineFault, Refused, Watched, type answers, type Value } from "../day";
import { ageWords, button, chips, padFields, ruler, Screen, verdict } from "../look";
import { whereBeyond } from "../place/camera-said";
import { measure as words, offWords, padWords, upper } from "../words";
import { fieldsOf, measuredOf, number, type Texts, type Way } from "./measured";
import { spectrumOf, spectrumThere, type Spectrum } from "./spectrum";

interface Draft { way: Way; texts: Texts; of: string | undefined; sky: string | undefined }

export class Measure extends Screen {
  static override properties = {
    draft: { state: true }, at: { state: true }, supposed: { state: true }, wrong: { state: true }, skies: { state: true },
  };
  declare draft: Draft;
  declare at: string;
  declare supposed: answers.Supposed | undefined;
  declare wrong: string | undefined;
  declare skies: boolean;
  #turn = 0;
  readonly #of = (): { setUp: string } | undefined => (day.here.setUp ? { setUp: day.here.setUp } : undefined);
  readonly now = new Asked<answers.SetUpNow>(this, "now", this.#of);
  readonly verdicts = new Asked<answers.Verdicts>(this, "verdicts", this.#of);
  readonly form = new Asked<answers.Form>(this, "form", () => ({ kind: "reading" }));

  constructor() {
    super();
    this.draft = { way: "cctDuv", texts: {}, of: day.here.what["light"], sky: undefined };
    this.at = "cctKelvin";
    this.skies = false;
    new Watched(this);
    void day.drafts.read<Draft>("measure", day.here.setUp).then((kept) => {
      if (kept) this.#draft({ ...kept, of: day.here.what["light"] ?? kept.of });
    });
  }

  /** #which is the light that was picked, else the one that is due; "everything" for all together. */
  get #which(): string | undefined { return this.draft.of ?? this.verdicts.value?.due?.light ?? this.now.value?.lights[0]?.light
    ?? "everything"; }

  #draft(change: Partial<Draft>): void {
    this.draft = { ...this.draft, ...change };
    this.wrong = undefined;
    void day.drafts.keep("measure", day.here.setUp, this.draft);
    void this.#judge();
  }

  get #typed(): Record<string, Value> | undefined {
    const { measured } = measuredOf(this.draft.way, this.draft.texts), which = this.#which;
    if (!measured || !day.here.setUp || !which) return undefined;
    const lux = number(this.draft.texts["lux"]);
    return {
      setUp: day.here.setUp, measured, takenAt: new Date(day.now()).toISOString(),
      of: which === "everything" ? { as: "everything" } : { as: "light", light: which },
      ...(lux && { illuminance: { value: lux, unit: "lux" } }), ...(this.draft.sky && { sky: this.draft.sky }),
    };
  }

  /** #judge says at once what the digits mean; what is not a number yet, or impossible, says nothing before Save. */
  async #judge(): Promise<void> {
    const turn = ++this.#turn, typed = this.#typed;
    const said = typed && await day.ask<answers.Supposed>("suppose", { kind: "reading", typed }).then((a) => a.value, () => undefined);
    if (turn === this.#turn) this.supposed = said;
  }

  async #save(more: Record<string, Value> = {}): Promise<void> {
    const { missing } = measuredOf(this.draft.way, this.draft.texts);
    if (missing && !more["measured"]) {
      this.at = missing;
      this.wrong = words.missing(words.fields[missing]!);
      return;
    }
    const which = this.#which;
    const fields: Record<string, Value> = { ...this.#typed, ...more };
    const judged = await day.ask<answers.Judged>("judge", { kind: "reading", fields }).then((a) => a.value, (e: unknown) => {
      if (e instanceof EngineFault && e.type === "bad-request") return { errors: [{ field: e.message, value: "", allowed: "" }],
        remarks: [] };
      return undefined; // the engine is not there: it judges later
    });
    const first = judged?.errors[0];
    if (first && which) {
      this.wrong = words.refused(first.field, first.value, first.allowed);
      return;
    }
    await day.save({ kind: "reading", fields, ...(this.form.value && { form: this.form.value }) });
    void day.drafts.drop("measure", day.here.setUp);
    day.back();
  }

  async #spectrum(file: File | undefined): Promise<void> {
    if (!file) return;
    const text = await file.text(), spectrum = spectrumOf(text) ?? await this.#readThere(file.name, text);
    if (!spectrum) return;
    const which = this.#which;
    await this.#save({
      setUp: day.here.setUp ?? null, measured: { as: "spectrum", wavelengthsNm: spectrum.wavelengthsNm, values: spectrum.values },
        takenAt: new Date(day.now()).toISOString(),
      of: which === "everything" || !which ? { as: "everything" } : { as: "light", light: which },
    });
  }

  /** #readThere has the server read a file of another form; where it cannot, the screen says why. */
  async #readThere(name: string, text: string): Promise<Spectrum | undefined> {
    try {
      return await spectrumThere(text);
    } catch (e) {
      this.wrong = e instanceof Refused ? words.notRead(name, e.message) : words.readElsewhere(name);
      return undefined;
    }
  }

  protected override render(): TemplateResult {
    const fields = fieldsOf(this.draft.way, this.draft.texts), other: Way = this.draft.way === "xy" ? "cctDuv" : "xy";
    return html`<main class="low"><h1 class="vh">${words.title}</h1>${this.#said()}${this.skies ? this.#sky() : this.#lights()}
      ${padFields(fields, this.at, (name) => { this.at = name; })}</main>
      <footer class="hand"><ew-pad .fields=${fields} .at=${this.at} .save=${words.save} .words=${padWords}
        @ew-type=${(e: CustomEvent<{ name: string; text: string }>) => this.#draft({ texts: { ...this.draft.texts,
          [e.detail.name]: e.detail.text } })}
        @ew-field=${(e: CustomEvent<string>) => { this.at = e.detail; }} @ew-save=${() => void this.#save()}></ew-pad>
      <div class="row four">${button({ words: words.back, press: () => day.back() })}
        ${button({ words: words.as[other], press: () => { this.at = other === "xy" ? "x" : "cctKelvin"; this.#draft({ way: other }); } })}
        <label class="b file">${words.spectrum}<input type="file" class="vh" accept=".csv,.txt,.tsv,.xml,.spdx,.json,.cgats,.sp"
          @change=${(e: Event) => void this.#spectrum((e.target as HTMLInputElement).files?.[0])}></label></div></footer>`;
  }

  #lights(): TemplateResult {
    const lights = (this.now.value?.lights ?? []).map((l) => ({ words: upper(l.name), value: l.light }));
    return html`<div class="row">${chips(words.which, [...lights, { words: words.everything, value: "everything" }], this.#which,
      (of) => { this.#draft({ of }); })}
      ${button({ words: words.sky(this.#skyNow), press: () => { this.skies = true; } })}
      ${button({ words: words.card, press: () => day.go("card") })}</div>`;
  }

  get #skyNow(): string {
    const carried = this.form.value?.values["sky"]?.value;
    return words.skies[this.draft.sky ?? (typeof carried === "string" ? carried : "")] ?? "";
  }

  #sky(): TemplateResult {
    return chips(words.skyNow, Object.entries(words.skies).map(([value, w]) => ({ words: w, value })), this.draft.sky, (sky) => {
      this.skies = false;
      this.#draft({ sky });
    });
  }

  /** #said is what the digits mean; before there are any, how the light was read last. */
  #said(): TemplateResult | typeof nothing {
    const l = this.supposed?.lights[0], v = this.supposed?.verdicts.lights[0];
    if (this.wrong) return html`<section class="panel" role="alert"><p><b>${this.wrong}</b></p><p
      class="s">${words.nothingLost}</p></section>`;
    if (!l) return this.#before();
    const off = l.offOwnColor ?? l.cast;
    const lies = off ? offWords(whereBeyond(off, l.limits)) || words.onIt : l.problem ?? l.color?.words ?? "";
    const drift = this.now.value?.lights.find((x) => x.light === l.light)?.drift;
    return html`<section class="panel tight" role="status"><p
      class="say">${v && v.word !== "left" ? verdict({ ...v, mired: off?.mired }) : nothing}
      <b>${lies}</b>${v ? html`<span class="s">${words.limit(l.limits.mired)}</span>` : nothing}</p>
      ${off?.mired === undefined ? nothing : ruler(off.mired, l.limits.mired, words.ruler(lies, l.limits.mired))}
      ${drift ? html`<p class="s">${upper(drift.headline)}</p>` : nothing}</section>`;
  }

  #before(): TemplateResult | typeof nothing {
    const l = this.now.value?.lights.find((x) => x.light === this.#which), due = this.verdicts.value?.due;
    if (!l) return nothing;
    const why = due?.light === l.light ? due.why : "";
    return html`<section class="panel tight"><p><b>${upper(l.name)}</b> ${why}</p>
      <p class="s">${l.color ? words.last(l.color.words, ageWords(l.ageMinutes ?? 0)) : upper(l.problem ?? "")}</p></section>`;
  }
}
customElements.define("ew-measure", Measure);
