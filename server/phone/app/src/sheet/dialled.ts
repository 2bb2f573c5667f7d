// What a camera is at, typed: for the first time, or where the dial was turned far.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, digits, Watched, type answers, type Value } from "../day";
import { button, chips, kelvinIsFull, padFields, Screen, type PadField } from "../look";
import { camera as words, labelOf, measure, padWords, upper } from "../words";
import { atSetUp } from "../place/set-ups";
import { change } from "./change";
import { number, type Texts } from "./measured";

export class DialledSheet extends Screen {
  static override properties = {
    texts: { state: true }, at: { state: true }, mode: { state: true }, was: { state: true }, wrong: { state: true },
  };
  private declare texts: Texts;
  private declare at: string;
  private declare mode: string | undefined; // kelvin, a preset as "preset NAME", or another way to set white
  private declare was: boolean | undefined; // it stood so in the last take already
  private declare wrong: string | undefined;
  private readonly now = new Asked<answers.SetUpNow>(this, "now", () => atSetUp());
  private readonly takes = new Asked<answers.Takes>(this, "list", () => atSetUp({ limit: 1 }));
  private readonly body = new Asked<answers.HandsetRecord>(this, "record",
    () => (this.camera?.body ? { kind: "body", record: this.camera.body } : undefined));

  constructor() {
    super();
    this.texts = {};
    this.at = "kelvin";
    new Watched(this);
  }

  private get camera(): answers.CameraNow | undefined { return this.now.value?.cameras.find((c) => c.camera === day.here.camera); }

  private get rolling(): boolean { return day.here.what["rolling"] === "yes"; }

  /** by is the way in which the white is set, the body's first where nobody said. */
  private get by(): string { return this.mode ?? (this.ways[0]?.value === undefined ? "kelvin" : this.ways[0].value); }

  private get ways(): { words: string; value: string }[] {
    const fields = this.body.value?.fields ?? {}, modes = (fields["whiteModes"]?.value ?? ["kelvin"]) as string[];
    const presets = Object.entries(fields).filter(([name]) => name.startsWith("presets/")).map(([name, shown]) => {
      const key = name.slice("presets/".length);
      return { words: String((shown.value as { name?: unknown } | null)?.name ?? key), value: `preset ${key}` };
    });
    return modes.flatMap((m) => (m === "preset" ? presets : [{ words: upper(words.modes[m] ?? m), value: m }]));
  }

  private get fields(): PadField[] {
    const of = this.body.value?.fields ?? {}, field = (name: string, more: Partial<PadField>): PadField => ({
      name, label: labelOf(name), text: this.texts[name] ?? "", ...more });
    const dials = ["tint", "amberBlue"].filter((name) => of[name] !== undefined);
    const beside = dials.map((name) => field(name, { sign: true, fallback: "0" }));
    return this.by === "kelvin" ? [field("kelvin", { unit: "K", full: kelvinIsFull }), ...beside] : beside;
  }

  /** typed is the setting as an event and a clip have it. */
  private get typed(): Record<string, Value> | undefined {
    const [mode = "", preset] = this.by.split(" "), kelvin = number(this.texts["kelvin"]);
    if (mode === "kelvin" && !kelvin) return undefined;
    const beside = this.fields.filter((f) => f.name !== "kelvin").map((f) => [f.name, number(f.text) ?? digits("0")] as const);
    return { whiteMode: mode, kelvin: mode === "kelvin" ? kelvin! : null, preset: preset ?? null, ...Object.fromEntries(beside) };
  }

  /** last is the clip of this camera in the last take. */
  private get last(): { clip: answers.ClipLine; take: string } | undefined {
    const take = this.takes.value?.takes.find((t) => t.clips.some((c) => c.camera === day.here.camera));
    const clip = take?.clips.find((c) => c.camera === day.here.camera);
    return take && clip && !this.rolling ? { clip, take: take.name } : undefined;
  }

  private async save(): Promise<void> {
    const c = this.camera, setUp = day.here.setUp, typed = this.typed, last = this.last;
    if (!typed) this.wrong = words.kelvinMissing;
    if (!typed || !c || !setUp) return;
    const said = Object.fromEntries(Object.entries(typed).filter(([, v]) => v !== null));
    const judged = await day.ask<answers.Judged>("judge", { kind: "clip", fields: said }).then((a) => a.value, () => undefined);
    const first = judged?.errors[0];
    if (first) {
      this.wrong = words.refused(labelOf(first.field).toLowerCase(), first.value, first.allowed);
      return;
    }
    await day.event(setUp, { event: this.rolling ? "whiteChanged" : "cameraSet", camera: c.camera, cameras: { [c.camera]: typed } });
    const readOff = { settingsAre: "readOff", readOffAt: new Date(day.now()).toISOString() };
    if (last && this.wasSo) await change("clip", last.clip.clip, { ...typed, ...readOff });
    day.back();
  }

  /** wasSo says that the last take had it already: so it is taken where its clip has no setting at all. */
  private get wasSo(): boolean { return this.was ?? (this.last !== undefined && this.camera?.last === undefined); }

  protected override render(): TemplateResult {
    const fields = this.fields, ways = this.ways, last = this.last;
    return html`<main class="low"><h1 class="big">${words.dialledTitle(this.camera?.letter ?? "")}</h1>
        ${this.wrong ? html`<p role="alert"><b>${this.wrong}</b></p>` : nothing}
        ${ways.length > 1 ? chips(words.by, ways, this.by, (mode) => { this.mode = mode; this.wrong = undefined; }) : nothing}
        ${last ? chips(words.when, [{ words: words.turnedNow, value: false }, { words: words.wasSo(last.take), value: true }], this.wasSo,
          (was) => { this.was = was; }) : nothing}
        ${padFields(fields, this.at, (name) => { this.at = name; })}</main>
      <footer class="hand"><ew-pad .fields=${fields} .at=${this.at} .save=${words.save} .words=${padWords}
        @ew-save=${() => void this.save()} @ew-field=${(e: CustomEvent<string>) => { this.at = e.detail; }}
        @ew-type=${(e: CustomEvent<{ name: string; text: string }>) => {
          this.texts = { ...this.texts, [e.detail.name]: e.detail.text };
          this.wrong = undefined; }}></ew-pad>
        <div class="row">${button({ words: measure.back, press: () => day.back() })}</div></footer>`;
  }
}
customElements.define("ew-dialled", DialledSheet);
