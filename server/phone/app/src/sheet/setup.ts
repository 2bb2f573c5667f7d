// Set-ups: the next one, another one, its white, and a shift of names.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type answers, type Value } from "../day";
import { actRow, button, Screen } from "../look";
import { mayWrite, onlyBack } from "../place/may";
import { clock, setUp as words } from "../words";
import { nextName } from "./next-name";

// What a new set-up has like the one before; lights, limits and what it must match belong to that one alone.
const carried = /^(day|scene|setUpKind|mains|place|referenceCamera|cameras\/.*)$/;

export class SetUp extends Screen {
  static override properties = { name: { state: true }, wrong: { state: true } };
  declare name: string | undefined; // as it was typed
  declare wrong: string | undefined;
  readonly lines = new Asked<{ setUps: answers.SetUpLine[] }>(this, "setUps", () => ({}));
  readonly like = new Asked<answers.Form>(this, "form", () => (day.here.setUp ? { kind: "setUp", like: day.here.setUp } : undefined));
  readonly empty = new Asked<answers.Form>(this, "form", () => (day.here.setUp ? undefined : { kind: "setUp" }));
  readonly days = new Asked<answers.RecordsPage>(this, "list", () => ({ kind: "day", limit: 500 }));
  readonly cameras = new Asked<answers.RecordsPage>(this, "list",
    () => (day.here.setUp ? undefined : { kind: "camera", limit: 100 }));
  readonly production = new Asked<answers.HandsetRecord>(this, "record",
    () => (day.here.production ? { kind: "production", record: day.here.production } : undefined));

  constructor() {
    super();
    new Watched(this);
  }

  get #here(): answers.SetUpLine | undefined { return this.lines.value?.setUps.find((s) => s.setUp === day.here.setUp); }

  /** #form is what the next set-up carries over. */
  get #form(): answers.Form | undefined { return this.like.value ?? this.empty.value; }

  get #own(): string { return String(this.like.value?.values["name"]?.value ?? ""); }

  /** #head is what stands before a set-up's own name: its scene. */
  get #head(): string { return this.#own ? this.#here?.name.slice(0, -this.#own.length) ?? "" : ""; }

  get #next(): string {
    const of = (this.lines.value?.setUps ?? []).filter((s) => s.scene === this.#here?.scene && s.day === this.#here?.day);
    const head = this.#head, taken = of.map((s) => s.name.slice(head.length));
    const not = this.production.value?.fields["lettersNotUsed"]?.value;
    return this.name ?? (this.#own ? nextName(this.#own, taken, typeof not === "string" ? not : "IO") : "A");
  }

  async #make(): Promise<void> {
    const name = this.#next.trim(), form = this.#form;
    if (!name) {
      this.wrong = words.needsName;
      return;
    }
    const fields: Record<string, Value> = {};
    for (const [field, v] of Object.entries(form?.values ?? {})) if (carried.test(field)) fields[field] = v.value as Value;
    const cameras = this.like.value ? [] : (this.cameras.value?.records ?? []) as { id: string }[];
    for (const c of cameras) fields[`cameras/${c.id}/inUse`] = true;
    const last = (this.days.value?.records as { id: string }[] | undefined)?.at(-1)?.id;
    fields["day"] ??= last ?? null;
    if (fields["day"] === null) {
      this.wrong = words.needsDay;
      return;
    }
    const act = await day.save({ kind: "setUp", fields: { ...fields, name } });
    const made = await act.made;
    day.go("now", { setUp: made[0]?.record });
  }

  protected override render(): TemplateResult {
    const here = this.#here,
      others = (this.lines.value?.setUps ?? []).filter((s) => s.setUp !== day.here.setUp).toReversed(); // the latest lowest
    return html`<main class="low"><h1 class="big">${words.title}</h1>
      ${others.map((s) => html`<button type="button" class="note" @click=${() => day.go("now", { setUp: s.setUp })}>
        <b class="n">${s.name}</b><span class="grow">${s.place ?? ""}<br>
        <span class="s">${[s.date === here?.date ? "" : s.date, words.takes(s.takes),
          clock(s.last)].filter(Boolean).join(", ")}</span></span></button>`)}
      </main>
      <footer class="hand"><label class="label"><span>${words.name} <span class="s">${here ? words.like(here.name) : ""}</span></span>
        <input class="input" maxlength="40" autocomplete="off" .value=${this.#next}
          @input=${(e: Event) => { this.name = (e.target as HTMLInputElement).value; this.wrong = undefined; }}></label>
      ${this.wrong ? html`<p role="alert"><b>${this.wrong}</b></p>` : nothing}<div
        class="row">${here ? button({ words: words.white, press: () => day.go("white") }) : nothing}
        ${here ? button({ words: words.shift, press: () => day.go("other", { ask: "shiftNames" }) }) : nothing}</div>
      ${mayWrite() ? actRow([{ words: words.back, press: () => day.back() }],
        { words: words.next, small: this.#head + this.#next, press: () => void this.#make() }) : onlyBack()}</footer>`;
  }
}
customElements.define("ew-setup", SetUp);
