// The frame: the status line, what must be said, the screen that is open (the sheet on top, or the
// place), and the places.
import { html, nothing, type TemplateResult } from "lit";
import { unsafeStatic, html as staticHTML } from "lit/static-html.js";
import { Asked, day, places, Watched, type answers, type Place, type StatusState } from "./day";
import { actRow, placesBar, Plain, statusLine, type Act, type DaySaid, type IconName } from "./look";
import { nameOf, type Listed } from "./sheet/names";
import { clock, words } from "./words";

const icons: Record<StatusState, IconName> = {
  revoked: "revoked", unpaired: "notPaired", notSetUp: "notSetUp", old: "old", here: "here", sent: "sent",
};

/** saidOfStatus is where the data is, in words and with its number. */
function saidOfStatus(): { icon: IconName; words: string; right: string | undefined } {
  const { state, count, since, at } = day.status;
  const counted = state === "here" || state === "old";
  return {
    icon: icons[state],
    words: counted ? `${count} ${words.status[state]}` : words.status[state],
    right: since ? `${words.status.since} ${clock(since)}` : at && clock(at),
  };
}

const placeIcons: Record<Place, IconName> = { now: "now", lights: "lights", takes: "takes", settle: "settle", handover: "handOver" };

/** desk is where there is room for the days beside the places. */
const desk = matchMedia("(min-width: 1100px) and (min-height: 30.01em)");

class App extends Plain {
  readonly waits = new Asked<answers.Waits>(this, "waits", () => (day.here.setUp ? { setUp: day.here.setUp } : undefined),
    { whole: true });

  readonly lines = new Asked<{ setUps: answers.SetUpLine[] }>(this, "setUps", () => (desk.matches ? {} : undefined));
  readonly days = new Asked<answers.RecordsPage>(this, "list", () => (desk.matches ? { kind: "day", limit: 500 } : undefined));

  #asked = false;
  /** #rest says why a screen is not here: it is coming, could not be loaded, or this version has none. */
  #rest: "coming" | "failed" | "missing" = "coming";

  constructor() {
    super();
    new Watched(this);
    desk.addEventListener("change", () => this.requestUpdate());
    addEventListener("keydown", (e) => {
      if (e.key === "Escape" && !e.defaultPrevented && day.here.sheet) day.back(); // what was typed is kept
    });
  }

  protected override firstUpdated(): void {
    requestAnimationFrame(() => setTimeout(() => void this.rest()));
  }

  #screen(name: string): TemplateResult {
    const element = `ew-${name}`, loaded = customElements.get(element) !== undefined;
    if (loaded && (day.isOpen || name === "now")) return staticHTML`<${unsafeStatic(element)} class="through"></${unsafeStatic(element)}>`;
    void this.rest();
    const rest = loaded ? "coming" : this.#rest; // until the store is open, no form finds its draft
    const back: Act = { words: words.back, press: () => day.back() };
    return html`<main><p role="status">${words.screen[rest]}</p></main>
      <footer class="hand">${rest === "failed" ? actRow([back], { words: words.loadAgain, press: () => location.reload() })
        : actRow([], back)}</footer>`;
  }

  /** rest loads what the first screen does without. A browser may keep a failure: then the page is loaded again. */
  async rest(): Promise<void> {
    if (this.#asked) return;
    this.#asked = true;
    this.#rest = await import("./later").then(() => "missing" as const, () => "failed" as const);
    this.requestUpdate();
  }

  /** #waits is how much waits for a person, on the day of the set-up that is open. */
  get #waits(): number {
    const { questions = 0, twins = 0, off = 0 } = this.waits.value ?? {};
    return questions + twins + off;
  }

  #places(): TemplateResult | typeof nothing {
    if (day.here.sheet || !day.here.production) return nothing;
    return placesBar(places.map((p) => ({
      icon: placeIcons[p], here: p === day.here.place, wide: p === "handover", press: () => day.go(p),
      words: p === "settle" && this.#waits > 0 ? `${words.places[p]} ${this.#waits}` : words.places[p],
    })), words.placesLabel, this.#days(), words.day);
  }

  /** #days are those that have a set-up: pressed, a day's latest set-up is opened, and in Takes its takes alone are listed. */
  #days(): DaySaid[] {
    const lines = this.lines.value?.setUps ?? [], open = lines.find((s) => s.setUp === day.here.setUp)?.day;
    return ((this.days.value?.records ?? []) as Listed[]).flatMap((d) => {
      const latest = lines.find((s) => s.day === d.id), only = day.here.place === "takes" ? { day: d.id } : {};
      const press = (): void => day.go(day.here.place, { setUp: latest?.setUp, ...only });
      return latest ? [{ words: nameOf(d), here: d.id === open, press }] : [];
    });
  }

  protected override render() {
    return html`<div class="top">${statusLine({ ...saidOfStatus(), press: () => day.go("handover") })}
      ${[...day.notices].map((n) => html`<p class="notice" role="status" data-notice=${n}>${words.notices[n]}</p>`)}</div>
      ${this.#screen(day.here.sheet ?? (day.here.production ? day.here.place : day.paired ? "now" : "first"))}${this.#places()}`;
  }
}

customElements.define("ew-app", App);
