// Other than the next take: fourteen things that happen at the slate, a button each.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type answers } from "../day";
import { button, chips, Screen } from "../look";
import { clock, other as words, upper } from "../words";

type Name = keyof typeof words.events;

// The commonest are lowest, nearest to the thumb.
const order: Name[] = [
  "shiftNames", "insertTake", "noSlate", "whiteChanged", "joinsLate", "newBattery", "notRolling", "newCard", "reroll", "chart", "series",
  "pickUp", "falseTake", "falseStart",
];
const ofOneCamera: Name[] = ["reroll", "newCard", "newBattery", "notRolling", "joinsLate", "whiteChanged"];

export class Other extends Screen {
  static override properties = { asked: { state: true }, fault: { state: true } };
  declare asked: Name | undefined; // the event that asks something before it is logged
  declare fault: string | undefined;
  readonly next = new Asked<answers.Next>(this, "next", () => (day.here.setUp ? { setUp: day.here.setUp } : undefined));
  readonly cameras = new Asked<answers.RecordsPage>(this, "list", () => ({ kind: "camera", limit: 100 }));
  readonly takes = new Asked<answers.Takes>(this, "list", () => (day.here.setUp ? { setUp: day.here.setUp, limit: 1 } : undefined));
  readonly production = new Asked<answers.HandsetRecord>(this, "record",
    () => (day.here.production ? { kind: "production", record: day.here.production } : undefined));

  constructor() {
    super();
    if (day.here.what["ask"] === "shiftNames") this.asked = "shiftNames";
    new Watched(this);
  }

  /** #letters are the cameras that may be meant: those in use, or for one that joins late those that are not. */
  get #letters(): { camera: string; letter: string }[] {
    const rolling = this.next.value?.clips ?? [];
    if (this.asked !== "joinsLate") return rolling.map((c) => ({ camera: c.camera, letter: c.letter }));
    const all = (this.cameras.value?.records ?? []) as { id: string; letter: string }[];
    return all.map((c) => ({ camera: c.id, letter: c.letter }));
  }

  readonly #log = async (event: Name, more: object = {}): Promise<void> => {
    const setUp = day.here.setUp;
    if (!setUp) return;
    await day.event(setUp, { event, ...more });
    day.back();
  };

  #pressed(name: Name): void {
    const one = ofOneCamera.includes(name) && (name === "joinsLate" || name === "whiteChanged" || this.#letters.length !== 1);
    const asksUse = name === "falseTake" && this.production.value?.fields["falseTakeNumber"] === undefined;
    if (one || asksUse || name === "shiftNames") this.asked = name;
    else if (ofOneCamera.includes(name)) void this.#log(name, { camera: this.#letters[0]?.camera });
    else void this.#log(name);
  }

  #camera(name: Name, camera: string): void {
    if (name === "whiteChanged") day.go("camera", { camera, rolling: "yes" });
    else void this.#log(name, { camera });
  }

  protected override render(): TemplateResult {
    const name = this.asked;
    return html`<main class="low">${name ? this.#question(name) : html`<h1 class="big">${words.title}</h1><p class="s">${words.lowest}</p>
      <section class="eff" aria-label=${words.label}>${order.map((n) => button({
        words: words.events[n][0], small: words.events[n][1], press: () => this.#pressed(n) }))}</section>`}</main>
      <footer class="hand"><div class="row four">
        ${button({ words: words.back, press: () => (name ? this.asked = undefined : day.back()) })}
        ${name ? nothing : html`${button({ words: words.setUp, press: () => day.go("setup") })}
        ${button({ words: words.note, press: () => day.go("note") })}
        ${button({ words: words.handOver, press: () => day.go("handover") })}`}</div></footer>`;
  }

  #question(name: Name): TemplateResult {
    const [title, small] = words.events[name];
    if (name === "falseTake") {
      return html`<h1 class="big">${words.usedUp}</h1><p class="s">${words.usedUpWhy}</p>${chips(words.usedUp, [
        { words: words.used, value: "used" }, { words: words.usedAgain, value: "usedAgain" },
      ], undefined, (falseTakeNumber) => void this.#log(name, { falseTakeNumber }))}`;
    }
    if (name === "shiftNames") {
      return html`<h1 class="big">${words.fromWhich}</h1><p class="s">${words.fromWhichWhy}</p>${(this.takes.value?.takes ?? []).slice(0, 8)
        .map((t) => html`<section class="panel" aria-label=${upper(t.name)}><p><b>${upper(t.name)}</b> <span
          class="s">${clock(t.at)}</span></p>
          <div class="row">${t.clips.filter((c) => c.name).map((c) => button({
            words: `${c.letter} ${c.name}`, press: () => void this.#log(name, { clip: c.clip }) }))}</div></section>`)}`;
    }
    return html`<h1 class="big">${title}</h1><p class="s">${small}</p><div class="acts even">${this.#letters.map((c) => button({
      words: c.letter, press: () => this.#camera(name, c.camera) }))}</div>`;
  }
}
customElements.define("ew-other", Other);
