// The frame over the card in a still: dragged, or moved by steps. A still that this browser cannot show is an empty picture.
import { html, nothing, type TemplateResult } from "lit";
import { button, Plain } from "../look";
import { card as words } from "../words";
import type { Still } from "./still-file";

/** Frame is a patch in pixels of the picture. */
export interface Frame { x: number; y: number; w: number; h: number }

/** Size is that of a picture. */
type Size = Pick<Still, "width" | "height">;

/** least is how many pixels a side a patch has, to be averaged. */
export const least = 8;

/** widest is how many pixels wide the picture is drawn: browsers of phones draw none of 20 Mpx. */
const widest = 1440;

/** inside keeps a frame inside the picture, and large enough to average. */
function inside(f: Frame, { width, height }: Size): Frame {
  const w = Math.min(width, Math.max(least, f.w)), h = Math.min(height, Math.max(least, f.h));
  return { w, h, x: Math.min(Math.max(0, f.x), width - w), y: Math.min(Math.max(0, f.y), height - h) };
}

/** middle is where a card lies, mostly: the middle sixth. */
export function middle(of: Size): Frame {
  const w = Math.round(of.width / 6), h = Math.round(of.height / 6);
  return inside({ x: Math.round((of.width - w) / 2), y: Math.round((of.height - h) / 2), w, h }, of);
}

/** ew-still-frame tells ew-frame: the Frame as it was dragged or stepped to. */
export class StillFrame extends Plain {
  static override properties = { still: { attribute: false }, frame: { attribute: false } };
  declare still: Still;
  declare frame: Frame;
  #from: { x: number; y: number } | undefined;

  protected override updated(): void {
    const canvas = this.querySelector("canvas"), c = canvas?.getContext("2d");
    if (!canvas || !c) return;
    const { still: { width, height, picture }, frame: f } = this, scale = Math.min(1, widest / width);
    canvas.width = Math.max(1, Math.round(width * scale));
    canvas.height = Math.max(1, Math.round(height * scale));
    if (picture) c.drawImage(picture, 0, 0, canvas.width, canvas.height);
    const line = Math.max(2, Math.round(canvas.width / 180));
    for (const [grey, wide] of [["#000", 3 * line], ["#fff", line]] as const) { // seen on every picture
      c.strokeStyle = grey;
      c.lineWidth = wide;
      c.strokeRect(f.x * scale, f.y * scale, f.w * scale, f.h * scale);
    }
  }

  #spot(e: PointerEvent): { x: number; y: number } {
    const box = (e.currentTarget as HTMLElement).getBoundingClientRect();
    const scale = this.still.width / box.width;
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

  #put(f: Frame): void { this.tell<Frame>("ew-frame", inside(f, this.still)); }

  #move(dx: number, dy: number, by: number): void {
    const f = this.frame, step = Math.max(1, Math.round(this.still.width / 40)), grow = by * 2 * step;
    this.#put({ x: f.x + dx * step - by * step, y: f.y + dy * step - by * step, w: f.w + grow, h: f.h + grow });
  }

  protected override render(): TemplateResult {
    const step = (text: string, dx: number, dy: number, by = 0) => button({ words: text, press: () => this.#move(dx, dy, by) });
    const shows = this.still.picture !== undefined;
    return html`<canvas class="pic still ${shows ? "" : "low"}" role="img" aria-label=${shows ? words.picture : words.noPicture}
        @pointerdown=${(e: PointerEvent) => this.#down(e)} @pointermove=${(e: PointerEvent) => this.#drag(e)}
        @pointerup=${() => { this.#from = undefined; }}></canvas>
      ${shows ? html`<p class="s">${words.draw}</p>
      <div class="row" role="group" aria-label=${words.patch}>${step(words.left, -1, 0)}${step(words.right, 1, 0)}${step(words.up, 0, -1)}
        ${step(words.down, 0, 1)}${step(words.smaller, 0, 0, -1)}${step(words.larger, 0, 0, 1)}</div>` : nothing}`;
  }
}
customElements.define("ew-still-frame", StillFrame);
