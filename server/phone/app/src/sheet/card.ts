// A grey card in one camera's picture: typed, or averaged from a still.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, digits, EngineFault, Watched, type answers, type Value } from "../day";
import { button, chips, padFields, Screen, type PadField } from "../look";
import { card as words, clock, measure, offWords, padWords, upper } from "../words";
import { codedBy, rgbOf, settingOf, type Coded, type How } from "./card-of";
import type { Patch } from "./still-frame";
import type { Texts } from "./measured";

interface Draft { texts: Texts; how: How; light: string | undefined; patch: Record<string, Value> | undefined }

export class Card extends Screen {
  static override properties = {
    draft: { state: true }, at: { state: true }, camera: { state: true }, color: { state: true }, wrong: { state: true },
      picture: { state: true },
  };
  declare draft: Draft;
  declare at: string;
  declare camera: string | undefined;
  declare color: answers.SampleColor | undefined;
  declare wrong: string | undefined;
  declare picture: ImageBitmap | undefined;
  #turn = 0;
  readonly now = new Asked<answers.SetUpNow>(this, "now", () => (day.here.setUp ? { setUp: day.here.setUp } : undefined));
  readonly setUp = new Asked<answers.HandsetRecord>(this, "record",
    () => (day.here.setUp ? { kind: "setUp", record: day.here.setUp } : undefined));
  readonly body = new Asked<answers.HandsetRecord>(this, "record",
    () => (this.#camera?.body ? { kind: "body", record: this.#camera.body } : undefined));

  constructor() {
    super();
    this.draft = { texts: {}, how: "codeValues", light: undefined, patch: undefined };
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
      light: reading && reading !== "none" ? { as: "reading", reading } : { as: "notMeasured" }, ...this.draft.patch,
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

  async #still(file: File | undefined): Promise<void> {
    if (!file) return;
    try {
      this.picture = await createImageBitmap(file, { colorSpaceConversion: "none" });
    } catch {
      this.wrong = words.cantDecode(file.name);
    }
  }

  /** #patch has the engine average what the frame holds. A still of a browser has 8 bits. */
  async #patch({ pixels, ...patch }: Patch): Promise<void> {
    const coded = this.#coded;
    this.picture = undefined;
    if (!coded) return;
    try {
      const { value } = await day.ask<answers.StillReading>("still", {
        ...patch, encoding: coded.encoding, primaries: coded.primaries, range: "full",
          ...(coded.gamma !== undefined && { gamma: coded.gamma }),
      }, pixels);
      const { rgb, areaPixels, spreadPercent, clippedPercent } = value.sample, n = (v: number) => digits(String(v));
      const of = { ...rgb, r: n(rgb.r), g: n(rgb.g), b: n(rgb.b), bits: n(rgb.bits),
        ...(rgb.gamma !== undefined && { gamma: n(rgb.gamma) }) };
      this.#draft({ texts: { r: String(rgb.r), g: String(rgb.g), b: String(rgb.b) }, how: "codeValues",
        patch: { rgb: of as unknown as Value,
        areaPixels: n(areaPixels), spreadPercent: n(spreadPercent), clippedPercent: n(clippedPercent) } });
    } catch (e) {
      this.wrong = upper(e instanceof Error ? e.message : String(e));
    }
  }

  protected override render(): TemplateResult {
    if (this.picture) {
      return html`<main><h1 class="big">${words.from}</h1><ew-still-frame class="through" .picture=${this.picture}
        @ew-patch=${(e: CustomEvent<Patch>) => void this.#patch(e.detail)}></ew-still-frame></main>
        <footer class="hand"><div class="row">${button({ words: words.back, press: () => { this.picture = undefined; } })}</div></footer>`;
    }
    const fields: PadField[] = ["r", "g", "b"].map((name) => ({ name, label: measure.fields[name]!, text: this.draft.texts[name] ?? "",
      ...(this.draft.how === "percent" && { unit: "%" }) }));
    return html`<main class="low"><h1 class="vh">${words.title}</h1>${this.#said()}${this.#chips()}
      ${padFields(fields, this.at, (name) => { this.at = name; })}</main>
      <footer class="hand"><ew-pad .fields=${fields} .at=${this.at} .save=${words.save} .words=${padWords}
        @ew-save=${() => void this.#save()}
        @ew-field=${(e: CustomEvent<string>) => { this.at = e.detail; }}
        @ew-type=${(e: CustomEvent<{ name: string; text: string }>) => this.#draft({ patch: undefined,
          texts: { ...this.draft.texts, [e.detail.name]: e.detail.text } })}></ew-pad>
      <div class="row four">${button({ words: words.back, press: () => day.back() })}
        ${button({ words: words.as[this.draft.how === "percent" ? "codeValues" : "percent"],
          press: () => this.#draft({ how: this.draft.how === "percent" ? "codeValues" : "percent", patch: undefined }) })}
        <label class="b file">${words.from}<input type="file" class="vh" accept="image/png,image/jpeg"
          @change=${(e: Event) => void this.#still((e.target as HTMLInputElement).files?.[0])}></label></div></footer>`;
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
      ${(c.warnings ?? []).map((w) => html`<p class="s">${upper(w)}</p>`)}</section>`;
  }
}
customElements.define("ew-card", Card);
