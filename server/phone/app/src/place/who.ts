// Who holds this phone, and what they mostly do: asked at pairing, changed under Hand over.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched } from "../day";
import type { RecordsPage } from "../engine/answers.gen";
import { chips, Plain } from "../look";
import { nameOf, type Listed } from "../sheet/names";
import { who as words } from "../words";
import { keepStart, look, startOf, starts, type Hand, type Start, type Theme } from "./start";

/** ew-start-place asks "On this set I mostly …". */
export class StartPlace extends Plain {
  static override properties = { start: { state: true } };
  private declare start: Start;

  private readonly cameras = new Asked<RecordsPage>(this, "list", () => (this.start === "camera" ? { kind: "camera", limit: 50 }
    : undefined));

  constructor() {
    super();
    this.start = startOf();
  }

  private pick(start: Start, camera?: string): void {
    this.start = start;
    keepStart(start, camera);
  }

  protected override render(): TemplateResult {
    const cameras = (this.cameras.value?.records ?? []) as Listed[];
    return html`<h2 class="ttl">${words.mostly}</h2>
      <div class="two" role="group" aria-label=${words.mostly}>${starts.map((s) => html`
        <button type="button" class="b col" aria-pressed=${this.start === s} @click=${() => this.pick(s)}>${words.starts[s][0]}
          <small class="s">${words.starts[s][1]}</small></button>`)}</div>
      ${cameras.length > 0 ? chips(words.whichCamera, cameras.map((c) => ({ words: nameOf(c), value: c.id })),
        localStorage.getItem("evenwhite-start")?.split("camera=")[1], (id) => { this.pick("camera", id); this.requestUpdate(); })
          : nothing}`;
  }
}
customElements.define("ew-start-place", StartPlace);

/** ew-looks asks for hand and theme: never a sensor or the clock decides. */
export class Looks extends Plain {
  protected override render(): TemplateResult {
    const keep = (name: "theme" | "hand") => (value: string): void => {
      look.keep(name, value);
      this.requestUpdate();
    };
    return html`${chips<Hand>(words.hand, [{ words: words.right, value: "right" }, { words: words.left, value: "left" }], look.hand(),
      keep("hand"))}
      ${chips<Theme>(words.theme, [{ words: words.dark, value: "dark" }, { words: words.bright, value: "bright" }, { words: words.night,
        value: "night" }],
        look.theme(), keep("theme"))}`;
  }
}
customElements.define("ew-looks", Looks);

const namesKey = "evenwhite-names";

/** ew-holder says who holds this phone; the names of before are one tap. */
export class Holder extends Plain {
  static override properties = { typed: { state: true } };
  private declare typed: string;

  constructor() {
    super();
    new Watched(this);
    this.typed = "";
  }

  private get names(): string[] { return (localStorage.getItem(namesKey) ?? "").split("\n").filter(Boolean); }

  private async hold(name: string): Promise<void> {
    const by = name.trim();
    if (!by) return;
    const others = [day.by, ...this.names].filter((n) => n && n !== by); // whoever gives it away takes it back in one tap
    localStorage.setItem(namesKey, [...new Set([by, ...others])].slice(0, 6).join("\n"));
    this.typed = "";
    await day.hold(by);
  }

  protected override render(): TemplateResult {
    return html`<h2 class="ttl">${words.holds}</h2><p role="status">${day.by ? html`<b>${day.by}</b>` : words.nobody}</p>
      ${chips(words.holds, this.names.filter((n) => n !== day.by).map((n) => ({ words: n, value: n })), day.by, (n) => void this.hold(n))}
      <form class="row" @submit=${(e: Event) => { e.preventDefault(); void this.hold(this.typed); }}>
        <input class="input grow" aria-label=${words.another} placeholder=${words.another} maxlength="80" autocomplete="off"
          .value=${this.typed}
          @input=${(e: Event) => { this.typed = (e.target as HTMLInputElement).value; }}><button
            class="b">${words.isHolder}</button></form>`;
  }
}
customElements.define("ew-holder", Holder);
