// A grey card in one camera's picture: typed, or averaged from a still.
import { html, nothing, type TemplateResult } from "lit";
import { parse } from "../capture";
import { Asked, day, EngineFault, Watched, type answers, type Value } from "../day";
import { button, chips, padFields, Screen, type PadField } from "../look";
import { card as words, clock, measure, offWords, padWords, upper } from "../words";
import { codedBy, rgbOf, settingOf, type Coded, type How } from "./card-of";
import type { Texts } from "./measured";
import { stillOf, type Still } from "./still-file";

interface Draft {
  texts: Texts;
  how: How;
  light: string | undefined;
  /** patch is what a still said, in the form of a sample, as JSON: a draft keeps no Digits. */
  patch?: string | undefined;
  warnings?: string[] | undefined;
}

const noStill = { patch: undefined, warnings: undefined };

export class Card extends Screen {
  static override properties = {
    draft: { state: true }, at: { state: true }, camera: { state: true }, color: { state: true }, wrong: { state: true },
      still: { state: true },
  };
  declare draft: Draft;
  declare at: string;
  declare camera: string | undefined;
  declare color: answers.SampleColor | undefined;
  declare wrong: string | undefined;
  declare still: Still | undefined;
  #turn = 0;
  #of = "";
  readonly now = new Asked<answers.SetUpNow>(this, "now", () => (day.here.setUp ? { setUp: day.here.setUp } : undefined));
  readonly setUp = new Asked<answers.HandsetRecord>(this, "record",
    () => (day.here.setUp ? { kind: "setUp", record: day.here.setUp } : undefined));
  readonly body = new Asked<answers.HandsetRecord>(this, "record",
    () => (this.#camera?.body ? { kind: "body", record: this.#camera.body } : undefined));

  constructor() {
    super();
    this.draft = { texts: {}, how: "codeValues", light: undefined };
    this.at = "r";
    this.camera = day.here.camera;
    new Watched(this);
    void day.drafts.read<Draft>("card", this.camera).then((kept) => { if (kept) this.#draft(kept); });
  }

  get #camera(): answers.CameraNow | undefined {
    const all = this.now.value?.cameras ?? [];
    return all.find((c) => c.camera === this.camera) ?? all[0];
  }

  get #coded(): Coded | undefined {
    const mode = this.setUp.value?.fields[`cameras/${this.#camera?.camera}/recordingMode`]?.value;
    return codedBy(this.body.value, typeof mode === "string" ? mode : undefined);
  }

  /** #reading is that of the light on the card: the one picked, else the reference's newest. */
  get #reading(): string | undefined {
    return this.draft.light ?? this.now.value?.lights.find((l) => l.reading && l.on && l.intent === "match")?.reading;
  }

  #draft(change: Partial<Draft>): void {
    this.draft = { ...this.draft, ...change };
    this.wrong = undefined;
    void day.drafts.keep("card", this.camera, this.draft);
    void this.#judge();
  }

  /** #typed is the sample; why says what keeps it from being one. */
  get #typed(): { typed?: Record<string, Value>; why?: string } {
    const c = this.#camera, coded = this.#coded, set = c?.last?.setting ?? c?.toDial;
    if (!c?.body || !coded) return { why: words.noMode };
    if (!set) return { why: words.noSetting };
    const { rgb, missing } = rgbOf(this.draft.how, this.draft.texts, coded), reading = this.#reading;
    if (!rgb) return { why: words.missing(measure.fields[missing!]!) };
    return { typed: {
      setUp: day.here.setUp ?? null, camera: c.camera, body: c.body, rgb, readAt: this.draft.patch ? "recordedFile" : "cameraOutput",
        patch: "grey",
      settings: settingOf(set), takenAt: new Date(day.now()).toISOString(), recordingMode: coded.mode,
      light: reading && reading !== "none" ? { as: "reading", reading } : { as: "notMeasured" },
      ...(this.draft.patch && parse(this.draft.patch) as Record<string, Value>),
    } };
  }

  async #judge(): Promise<void> {
    const turn = ++this.#turn, { typed } = this.#typed;
    const said = typed && await day.ask<answers.SampleColor>("color", { kind: "sample", typed }).then((a) => a.value, (e: unknown) => {
      if (turn === this.#turn && e instanceof EngineFault) this.wrong = upper(e.message);
      return undefined;
    });
    if (turn === this.#turn) this.color = said;
  }

  async #save(): Promise<void> {
    const { typed, why } = this.#typed;
    if (!typed) {
      this.wrong = why;
      return;
    }
    const judged = await day.ask<answers.Judged>("judge", { kind: "sample", fields: typed }).then((a) => a.value, () => undefined);
    const first = judged?.errors[0];
    if (first) {
      this.wrong = measure.refused(first.field, first.value, first.allowed);
      return;
    }
    await day.save({ kind: "sample", fields: typed });
    void day.drafts.drop("card", this.camera);
    day.back();
  }

  async #still(input: HTMLInputElement): Promise<void> {
    const file = input.files?.[0];
    input.value = ""; // the same one may be chosen again
    if (!file) return;
    this.still = await stillOf(file);
    this.wrong = this.still ? undefined : words.cantDecode(file.name);
  }

  /** #read takes over what a still says, whoever averaged it. */
  #read({ sample, warnings }: answers.StillReading): void {
    const { r, g, b } = sample.rgb;
    this.still = undefined;
    this.#draft({ texts: { r: String(r), g: String(g), b: String(b) }, how: "codeValues", patch: JSON.stringify(sample), warnings });
  }

  /** A draft is here before the camera is known whose it is: then it is judged. */
  protected override updated(): void {
    super.updated();
    const of = `${this.#camera?.body} ${this.#coded?.mode}`;
    if (of === this.#of) return;
    this.#of = of;
    void this.#judge();
  }

  protected override render(): TemplateResult {
    if (this.still) {
      return html`<ew-still .still=${this.still} .coded=${this.#coded} @ew-away=${() => { this.still = undefined; }}
        @ew-read=${(e: CustomEvent<answers.StillReading>) => this.#read(e.detail)}></ew-still>`;
    }
    const fields: PadField[] = ["r", "g", "b"].map((name) => ({ name, label: measure.fields[name]!, text: this.draft.texts[name] ?? "",
      ...(this.draft.how === "percent" && { unit: "%" }) }));
    return html`<main class="low"><h1 class="vh">${words.title}</h1>${this.#said()}${this.#chips()}
      ${padFields(fields, this.at, (name) => { this.at = name; })}</main>
      <footer class="hand"><ew-pad .fields=${fields} .at=${this.at} .save=${words.save} .words=${padWords}
        @ew-save=${() => void this.#save()}
        @ew-field=${(e: CustomEvent<string>) => { this.at = e.detail; }}
        @ew-type=${(e: CustomEvent<{ name: string; text: string }>) => this.#draft({ ...noStill,
          texts: { ...this.draft.texts, [e.detail.name]: e.detail.text } })}></ew-pad>
      <div class="row four">${button({ words: words.back, press: () => day.back() })}
        ${button({ words: words.as[this.draft.how === "percent" ? "codeValues" : "percent"],
          press: () => this.#draft({ how: this.draft.how === "percent" ? "codeValues" : "percent", ...noStill }) })}
        <label class="b file">${words.from}<input type="file" class="vh" accept="image/png,image/jpeg,image/tiff"
          @change=${(e: Event) => void this.#still(e.target as HTMLInputElement)}></label></div></footer>`;
  }

  #chips(): TemplateResult {
    const n = this.now.value, lights = (n?.lights ?? []).filter((l) => l.reading)
      .map((l) => ({ words: words.measured(upper(l.name), l.takenAt ? clock(l.takenAt) : ""), value: l.reading! }));
    return html`${day.here.camera ? nothing : chips(words.which, (n?.cameras ?? []).map((c) => ({ words: c.letter, value: c.camera })),
      this.#camera?.camera, (camera) => { this.camera = camera; void this.#judge(); })}
      ${chips(words.light, [...lights, { words: words.notMeasured, value: "none" }], this.#reading ?? "none",
        (light) => this.#draft({ light }))}`;
  }

  #said(): TemplateResult | typeof nothing {
    if (this.wrong) return html`<section class="panel" role="alert"><p><b>${this.wrong}</b></p><p
      class="s">${measure.nothingLost}</p></section>`;
    const c = this.color;
    if (!c) return html`<section class="panel"><p><b>${words.title}, ${this.#camera?.letter ?? ""}</b></p>
      <p class="s">${this.#coded ? `${this.#coded.encoding}, ${this.#coded.primaries}` : words.noMode}</p></section>`;
    if (c.problem) return html`<section class="panel" role="status"><p><b>${upper(c.problem)}</b></p></section>`;
    return html`<section class="panel tight" role="status"><p><b>${c.white ? words.says(c.white.words) : ""}</b></p>
      ${c.error ? html`<p>${words.off(offWords(c.error) || "0")}</p>` : nothing}
      ${c.cast ? html`<p class="s">${words.cast(offWords(c.cast) || words.neutral)}</p>` : nothing}
      ${[...this.draft.warnings ?? [], ...c.warnings ?? []].map((w) => html`<p class="s">${upper(w)}</p>`)}</section>`;
  }
}
customElements.define("ew-card", Card);
