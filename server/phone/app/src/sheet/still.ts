// A still in which somebody says where the card lies. The engine averages what the browser decoded; of what the browser cannot
// decode whole, the server does.
import { html, nothing, type TemplateResult } from "lit";
import { day, Unreachable, type answers } from "../day";
import { actRow, button, padFields, Plain, type PadField } from "../look";
import { card as words, measure, padWords, upper } from "../words";
import type { Coded } from "./card-of";
import type { Texts } from "./measured";
import type { Still } from "./still-file";
import { least, middle, type Frame } from "./still-frame";

const types = { png16: "image/png", tiff: "image/tiff" };

/** patient is how long the server may take, in ms: its own bound for what comes slowly is 250 kB/s, and others may be before. */
const patient = (bytes: number): number => 30_000 + bytes / 250;

/** ew-still tells ew-read (StillReading) once the frame was averaged, and ew-away where somebody goes back. */
export class StillPart extends Plain {
  static override properties = {
    still: { attribute: false }, coded: { attribute: false }, texts: { state: true }, at: { state: true }, told: { state: true },
    asking: { state: true },
  };
  declare still: Still;
  declare coded: Coded | undefined;
  private declare texts: Texts; // the frame, as it was typed
  private declare at: string;
  private declare told: string;
  private declare asking: boolean;
  private readonly left = new AbortController();

  constructor() {
    super();
    this.texts = {};
    this.at = "x";
    this.told = "";
    this.asking = false;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.left.abort();
  }

  protected override willUpdate(changed: Map<string, unknown>): void { if (changed.has("still")) this.put(middle(this.still)); }

  /** put keeps what is said until it is read again: a line that went would move the picture under the finger. */
  private put(f: Frame): void { this.texts = Object.fromEntries(Object.entries(f).map(([name, n]) => [name, String(n)])); }

  private type(texts: Texts): void {
    this.texts = { ...this.texts, ...texts };
    this.told = "";
  }

  private get frame(): Frame {
    const n = (name: string): number => Number(this.texts[name] || NaN);
    return { x: n("x"), y: n("y"), w: n("w"), h: n("h") };
  }

  /** why says what keeps the frame from being read. */
  private get why(): string | undefined {
    if (!this.coded) return words.noMode;
    const { width, height } = this.still, f = this.frame;
    for (const [name, from, to] of [["w", least, width], ["h", least, height], ["x", 0, width - f.w], ["y", 0, height - f.h]] as const) {
      if (!Number.isInteger(f[name]) || f[name] < from || f[name] > to) return words.outside(words.frame[name]!, from, to);
    }
    return this.still.there && !day.paired && !day.production?.invented ? words.notPaired : undefined;
  }

  private async read(): Promise<void> {
    const coded = this.coded, why = this.why;
    if (this.asking) return;
    this.told = why ?? "";
    if (why || !coded) return;
    this.asking = true;
    const f = this.frame, gamma = coded.gamma === undefined ? {} : { gamma: coded.gamma };
    const { encoding, primaries } = coded;
    const asked = { x: f.x, y: f.y, width: f.w, height: f.h, encoding, primaries, range: "full", ...gamma };
    try {
      this.tell<answers.StillReading>("ew-read", await (this.still.there ? this.there(asked, this.still.there) : this.here(asked, f)));
    } catch (e) {
      this.told = e instanceof Unreachable ? words.away : upper(e instanceof Error ? e.message : String(e));
    }
    this.asking = false;
  }

  /** here has the engine average what the browser decoded, which has 8 bits. */
  private async here(asked: object, f: Frame): Promise<answers.StillReading> {
    const canvas = document.createElement("canvas"), { width: pictureWidth, height: pictureHeight, picture } = this.still;
    canvas.width = f.w;
    canvas.height = f.h;
    const c = canvas.getContext("2d", { willReadFrequently: true });
    if (!c || !picture) throw new Error(words.cantDecode(this.still.file.name));
    c.drawImage(picture, f.x, f.y, f.w, f.h, 0, 0, f.w, f.h);
    const pixels = new Uint8Array(c.getImageData(0, 0, f.w, f.h).data.buffer);
    return (await day.ask<answers.StillReading>("still", { ...asked, pictureWidth, pictureHeight }, pixels)).value;
  }

  /** there has the server read the file. It keeps nothing of it, and neither does this phone. */
  private async there(asked: object, is: keyof typeof types): Promise<answers.StillReading> {
    const { file } = this.still, of = new URLSearchParams(Object.entries(asked).map(([name, value]) => [name, String(value)]));
    const path = `${day.production?.invented ? "/look-around" : ""}/v1/productions/${day.here.production}/stills?${of}`;
    const over = AbortSignal.any([this.left.signal, AbortSignal.timeout(patient(file.size))]);
    const answer = await day.askServer("POST", path, file, types[is], over);
    return await answer.json().catch((e: unknown) => { throw new Unreachable(String(e)); }) as answers.StillReading;
  }

  protected override render(): TemplateResult {
    const { there, picture } = this.still, back = { words: words.back, press: () => this.tell("ew-away", undefined) };
    const fields: PadField[] = ["x", "y", "w", "h"].map((name) => ({ name, label: words.frame[name]!, text: this.texts[name] ?? "" }));
    const said = html`${there ? html`<p>${words.there[there]}</p>` : nothing}${this.told ? html`<section class="panel" role="alert"><p>
        <b>${this.told}</b></p><p class="s">${measure.nothingLost}</p></section>` : nothing}
      ${this.asking && there ? html`<p role="status">${words.asking}</p>` : nothing}`;
    const shown = html`<ew-still-frame class="through" .still=${this.still} .frame=${this.frame}
      @ew-frame=${(e: CustomEvent<Frame>) => this.put(e.detail)}></ew-still-frame>`;
    if (picture) {
      return html`<main><h1 class="big">${words.from}</h1>${said}${shown}</main>
        <footer class="hand">${actRow([back], { words: words.read, press: () => void this.read() })}</footer>`;
    }
    return html`<main class="low"><h1 class="vh">${words.from}</h1>${said}${shown}
      <p class="s">${words.numbers(this.still.width, this.still.height)}</p>
      ${padFields(fields, this.at, (name) => { this.at = name; })}</main>
      <footer class="hand"><ew-pad .fields=${fields} .at=${this.at} .save=${words.read} .words=${padWords}
        @ew-save=${() => void this.read()} @ew-field=${(e: CustomEvent<string>) => { this.at = e.detail; }}
        @ew-type=${(e: CustomEvent<{ name: string; text: string }>) => this.type({ [e.detail.name]: e.detail.text })}></ew-pad>
      <div class="row four">${button(back)}</div></footer>`;
  }
}
customElements.define("ew-still", StillPart);
