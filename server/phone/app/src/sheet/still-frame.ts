// A still that the browser decoded, with a frame over the card: dragged, or moved by steps.
import { html, type TemplateResult } from "lit";
import { button, Plain } from "../look";
import { card as words } from "../words";

/** Patch is the frame in pixels of the picture, with the pixels inside. */
export interface Patch {
  x: number; y: number; width: number; height: number; pictureWidth: number; pictureHeight: number; pixels: Uint8Array<ArrayBuffer>;
}

const least = 8;

export class StillFrame extends Plain {
  static override properties = { picture: { attribute: false }, frame: { state: true } };
  declare picture: ImageBitmap;
  declare frame: { x: number; y: number; w: number; h: number }; // in pixels of the picture
  #from: { x: number; y: number } | undefined;

  protected override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has("picture")) return;
    const { width, height } = this.picture, w = Math.round(width / 6), h = Math.round(height / 6);
    this.frame = { x: Math.round((width - w) / 2), y: Math.round((height - h) / 2), w, h };
  }

  protected override updated(): void {
    const canvas = this.querySelector("canvas"), c = canvas?.getContext("2d");
    if (!canvas || !c) return;
    const { picture: p, frame: f } = this, line = Math.max(2, Math.round(p.width / 180));
    canvas.width = p.width;
    canvas.height = p.height;
    c.drawImage(p, 0, 0);
    for (const [grey, wide] of [["#000", 3 * line], ["#fff", line]] as const) { // seen on every picture
      c.strokeStyle = grey;
      c.lineWidth = wide;
      c.strokeRect(f.x, f.y, f.w, f.h);
    }
  }

  #spot(e: PointerEvent): { x: number; y: number } {
    const box = (e.currentTarget as HTMLElement).getBoundingClientRect();
    const scale = this.picture.width / box.width;
    return { x: Math.round((e.clientX - box.left) * scale), y: Math.round((e.clientY - box.top) * scale) };
  }

  #down(e: PointerEvent): void {
    this.#from = this.#spot(e);
    (e.currentTarget as HTMLElement).setPointerCapture(e.pointerId);
  }

  #drag(e: PointerEvent): void {
    const a = this.#from;
    if (!a) return;
    const b = this.#spot(e);
    this.#put({ x: Math.min(a.x, b.x), y: Math.min(a.y, b.y), w: Math.abs(a.x - b.x), h: Math.abs(a.y - b.y) });
  }

  /** #put keeps the frame inside the picture, and large enough to average. */
  #put(f: { x: number; y: number; w: number; h: number }): void {
    const { width, height } = this.picture, w = Math.min(width, Math.max(least, f.w)), h = Math.min(height, Math.max(least, f.h));
    this.frame = { w, h, x: Math.min(Math.max(0, f.x), width - w), y: Math.min(Math.max(0, f.y), height - h) };
  }

  #move(dx: number, dy: number, by: number): void {
    const f = this.frame, step = Math.max(1, Math.round(this.picture.width / 40)), grow = by * 2 * step;
    this.#put({ x: f.x + dx * step - by * step, y: f.y + dy * step - by * step, w: f.w + grow, h: f.h + grow });
  }

  #read(): void {
    const { frame: f, picture: p } = this, canvas = document.createElement("canvas");
    canvas.width = f.w;
    canvas.height = f.h;
    const c = canvas.getContext("2d", { willReadFrequently: true });
    if (!c) return;
    c.drawImage(p, f.x, f.y, f.w, f.h, 0, 0, f.w, f.h);
    const pixels = new Uint8Array(c.getImageData(0, 0, f.w, f.h).data.buffer);
    this.tell<Patch>("ew-patch", { x: f.x, y: f.y, width: f.w, height: f.h, pictureWidth: p.width, pictureHeight: p.height, pixels });
  }

  protected override render(): TemplateResult {
    const step = (text: string, dx: number, dy: number, by = 0) => button({ words: text, press: () => this.#move(dx, dy, by) });
    return html`<canvas class="pic still" role="img" aria-label=${words.picture} @pointerdown=${(e: PointerEvent) => this.#down(e)}
        @pointermove=${(e: PointerEvent) => this.#drag(e)} @pointerup=${() => { this.#from = undefined; }}></canvas>
      <p class="s">${words.draw}</p>
      <div class="row" role="group" aria-label=${words.patch}>${step(words.left, -1, 0)}${step(words.right, 1, 0)}${step(words.up, 0, -1)}
        ${step(words.down, 0, 1)}${step(words.smaller, 0, 0, -1)}${step(words.larger, 0, 0, 1)}</div>
      <button type="button" class="b act" @click=${() => this.#read()}>${words.read}</button>`;
  }
}
customElements.define("ew-still-frame", StillFrame);
