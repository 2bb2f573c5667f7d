// A body is swapped: one tap, from now on. Another time is said in the camera's own form.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type answers } from "../day";
import { actRow, Screen } from "../look";
import { mayWrite, onlyBack } from "../place/may";
import { camera as words } from "../words";
import { change } from "./change";
import { nameOf, type Listed } from "./names";

export class Swap extends Screen {
  private readonly bodies = new Asked<answers.RecordsPage>(this, "list", () => ({ kind: "body", limit: 500 }));
  private readonly camera = new Asked<answers.HandsetRecord>(this, "record",
    () => (day.here.camera ? { kind: "camera", record: day.here.camera } : undefined));

  constructor() {
    super();
    new Watched(this);
  }

  private async fill(body: string): Promise<void> {
    await change("camera", day.here.camera ?? "", { body: { body, from: new Date(day.now()).toISOString() } });
    day.back();
  }

  protected override render(): TemplateResult {
    const of = this.camera.value?.record as { letter?: string; body?: { body?: string } } | undefined;
    const all = (this.bodies.value?.records ?? []) as Listed[], fills = of?.body?.body;
    return html`<main class="low"><h1 class="big">${words.swapTitle(of?.letter ?? "")}</h1><p class="s">${words.swapNow}</p>
        ${this.bodies.value && all.every((b) => b.id === fills) ? html`<p>${words.noOther}</p>` : nothing}
        ${all.map((b) => (b.id === fills ? html`<p><b>${nameOf(b)}</b> <span class="s">${words.fillsIt}</span></p>`
          : html`<button type="button" class="note" @click=${() => void this.fill(b.id)}><b>${nameOf(b)}</b></button>`))}</main>
      <footer class="hand">${mayWrite() ? actRow([
        { words: words.back, press: () => day.back() },
        { words: words.addBody, press: () => day.go("prep", { kind: "body", record: "new" }) },
        { words: words.otherTime, press: () => day.go("prep", { kind: "camera", record: day.here.camera }) }]) : onlyBack()}</footer>`;
  }
}
customElements.define("ew-swap", Swap);
