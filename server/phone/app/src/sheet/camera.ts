// A camera at arm's length: the verb, the number, and what it is at.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, digits, Watched, type answers, type Value } from "../day";
import { actRow, button, Screen, stepper, verdict } from "../look";
import { besideWords, offOf, settingWords, staysAs, whereBeyond } from "../place/camera-said";
import { mayWrite, onlyBack } from "../place/may";
import { isMine } from "../place/start";
import { camera as words, offWords, upper } from "../words";
import { kelvinBeside, tintBeside } from "./steps";

type Dial = "kelvin" | "tint";

/** isWords is what it is at, in the words in which that differs from what is dialled. */
const isWords = (is: answers.Dialled, dial: answers.Dialled | undefined): string =>
  (is.kelvin === undefined || is.kelvin === dial?.kelvin ? settingWords(is) : `${is.kelvin} K`);

export class Camera extends Screen {
  static override properties = { why: { state: true }, follow: { state: true }, dial: { state: true }, stepped: { state: true } };
  declare why: boolean;
  declare follow: boolean;
  declare dial: Dial; // which dial the steps turn
  declare stepped: { kelvin: number; tint: number } | undefined; // what was said here that it is at
  readonly #of = (): { setUp: string } | undefined => (day.here.setUp ? { setUp: day.here.setUp } : undefined);
  readonly now = new Asked<answers.SetUpNow>(this, "now", this.#of);
  readonly verdicts = new Asked<answers.Verdicts>(this, "verdicts", this.#of);
  readonly takes = new Asked<answers.Takes>(this, "list", () => this.#of() && { ...this.#of(), limit: 1 });
  readonly body = new Asked<answers.HandsetRecord>(this, "record",
    () => (this.#camera?.body ? { kind: "body", record: this.#camera.body } : undefined));
  readonly match = new Asked<answers.Matched>(this, "match", () => (this.#of() && this.#camera && !this.#camera.reference
    ? { ...this.#of(), camera: this.#camera.camera } : undefined));

  constructor() {
    super();
    this.why = this.follow = false;
    this.dial = "kelvin";
    isMine(day.here.camera);
    new Watched(this);
  }

  get #camera(): answers.CameraNow | undefined { return this.now.value?.cameras.find((c) => c.camera === day.here.camera); }

  get #verdict(): answers.GlanceVerdict | undefined { return this.verdicts.value?.cameras.find((v) => v.record === day.here.camera); }

  /** #rolling says that it was turned in the middle of a take. */
  get #rolling(): boolean { return day.here.what["rolling"] === "yes"; }

  /** #followed is what the engine says of following the other camera where it is. */
  get #followed(): answers.Matched | answers.Following | undefined {
    const m = this.match.value;
    return m && (m.for === "camera" ? m : m.following);
  }

  /** #stays says that it is left as it is: who follows another camera asks where that one is, not for the aim. */
  #stays(c: answers.CameraNow): boolean {
    const best = this.#followed?.best;
    if (this.follow) return best !== undefined && c.last !== undefined && settingWords(best) === settingWords(c.last.setting);
    return staysAs(c, this.#verdict) && !(this.#rolling && c.toDial); // who turned it in the middle of a take did not leave it
  }

  /** #advised is what is dialled, or left: for the aim, or what follows the other camera where that was asked for. */
  get #advised(): answers.Dialled | undefined {
    const c = this.#camera;
    if (this.follow) return this.#followed?.best;
    return c && (this.#stays(c) ? c.last?.setting : c.toDial);
  }

  /** #lies says where it lies; green–magenta only where something is to be done about it. */
  #lies(off: answers.Difference | undefined): string {
    const limit = this.now.value?.limits.find((l) => l.role === "camera");
    return off ? offWords(limit ? whereBeyond(off, limit) : off) : "";
  }

  async #set(fields: Record<string, Value>): Promise<void> {
    const c = this.#camera, setUp = day.here.setUp;
    if (!c || !setUp) return;
    await day.event(setUp, { event: this.#rolling ? "whiteChanged" : "cameraSet", camera: c.camera, cameras: { [c.camera]: fields } });
  }

  async #isSet(): Promise<void> {
    const d = this.#advised;
    if (!d) return;
    const n = (v: number | undefined): Value => (v === undefined ? null : digits(String(v)));
    await this.#set({ whiteMode: d.whiteMode, kelvin: n(d.kelvin), tint: n(d.tint ?? (d.whiteMode === "kelvin" ? 0 : undefined)),
      amberBlue: n(d.amberBlue), preset: d.preset ?? null });
    day.back();
    if (this.#rolling) day.back();
  }

  /** #step records at once what the camera is at. */
  async #step(to: number): Promise<void> {
    const is = this.#is;
    if (!is) return;
    this.stepped = { ...is, [this.dial]: to };
    await this.#set({ whiteMode: "kelvin", kelvin: digits(String(this.stepped.kelvin)), tint: digits(String(this.stepped.tint)) });
  }

  get #is(): { kelvin: number; tint: number } | undefined {
    const last = this.#camera?.last?.setting ?? (this.#camera?.toDial?.whiteMode === "kelvin" ? this.#camera.toDial : undefined);
    if (this.stepped) return this.stepped;
    return last?.kelvin === undefined ? undefined : { kelvin: last.kelvin, tint: last.tint ?? 0 };
  }

  /** #wasSo writes what it is at into its last clip too, where somebody says that it stood so then. */
  async #wasSo(clip: string): Promise<void> {
    const is = this.stepped, form = await day.ask<answers.Form>("form", { kind: "clip", record: clip }).then((a) => a.value);
    this.stepped = undefined;
    if (is) {
      await day.save({ kind: "clip", record: clip, form, fields: {
        whiteMode: "kelvin", kelvin: digits(String(is.kelvin)), tint: digits(String(is.tint)), settingsAre: "readOff" } });
    }
  }

  protected override render(): TemplateResult {
    const c = this.#camera, v = this.#verdict;
    if (!c) {
      return html`<main><h1 class="big">${words.title}</h1><p>${this.now.fault?.message ?? (this.now.value ? words.notHere : "")}</p></main>
        <footer class="hand">${actRow([{ words: words.back, press: () => day.back() }])}</footer>`;
    }
    return html`<main tabindex="0"><div class="row apart far-head"><h1 class="row"><span class="tag sq large">${c.letter}</span>
        ${mayWrite() ? html`<button type="button" class="b" aria-label=${words.swapOf(c.bodyLabel ?? words.noBody)}
          @click=${() => day.go("swap", { camera: c.camera })}>${c.bodyLabel ?? words.noBody}</button>`
          : html`<span class="s">${c.bodyLabel ?? words.noBody}</span>`}</h1>${
        v && !this.follow ? verdict({ ...v, mired: offOf(c)?.mired }, true) : nothing}</div>
      ${this.why ? this.#reasons(c) : this.#far(c)}</main>
      <footer class="hand">${mayWrite() ? this.#hand(c) : onlyBack()}</footer>`;
  }

  #far(c: answers.CameraNow): TemplateResult {
    const stays = this.#stays(c), d = this.#advised, off = offOf(c), lies = off && (this.#lies(off) || words.onIt);
    const byKelvin = d?.whiteMode === "kelvin" && d.kelvin !== undefined;
    return html`<section class="far"><p class="verb">${!d ? words.noAnswer : stays ? words.leave : words.dial}</p>
      ${!d ? html`<p class="why">${upper(this.#unfollowed ?? c.problem ?? words.noAnswerWhy)}</p>` : byKelvin
        ? html`<p class="dial">${d.kelvin}</p><p class="unit">K, ${besideWords(d)}</p>` : html`<p class="unit">${upper(d.words)}</p>`}
      ${this.follow ? html`<p class="why">${words.follows(this.#other)}</p>` : c.last && !stays ? html`<p
        class="why">${words.isAt} <b>${isWords(c.last.setting, d)}</b>${
        lies ? `: ${lies}` : ""}</p>` : lies ? html`<p class="why">${lies}</p>` : nothing}
      ${c.contested?.length ? html`<p><b>${words.contested}</b></p>${c.contested.map((o) => html`<p>${upper(o.words)}</p>`)}` : nothing}
      <p class="s">${this.#basis(c)}</p></section>`;
  }

  /** #unfollowed is why nothing is said of following. */
  get #unfollowed(): string | undefined {
    return this.follow ? this.match.fault?.message ?? this.match.value?.origin.caveats?.at(-1) : undefined;
  }

  get #other(): string {
    const all = this.now.value?.cameras ?? [], to = this.match.value?.to;
    return all.find((c) => (to ? c.camera === to : c.reference))?.letter ?? "";
  }

  /** #basis says by what, and what stays then. */
  #basis(c: answers.CameraNow): string {
    const d = this.#advised, e = c.cameraError, f = this.#followed;
    if (this.follow) return f ? words.then(words.followsBy(f.basis), this.#lies(f.best.residual) || words.like(this.#other)) : "";
    const stays = this.#stays(c), carded = stays ? c.last?.offAimByCards !== undefined : c.toDial?.words === c.dialByCards?.words;
    const by = e && e.samples.length > 0 && carded ? words.byCards(e.samples.length, e.confidence) : words.byLabel;
    return d?.residual && !stays ? words.then(by, this.#lies(d.residual) || words.onIt) : by;
  }

  #reasons(c: answers.CameraNow): TemplateResult {
    const second = this.follow ? this.#followed?.second : c.second, says = this.follow ? [this.#followed?.words ?? this.#unfollowed]
      : [c.toDial?.why, c.cameraError?.words, ...(c.caveats ?? []), this.match.value?.words];
    const all = [...says, second && words.second(settingWords(second))].filter((w): w is string => Boolean(w));
    return html`<section class="panel" aria-label=${words.why}><p><b
      class="ttl">${this.#short(c)}</b></p>${all.map((w) => html`<p>${upper(w)}</p>`)}</section>`;
  }

  #short(c: answers.CameraNow): string {
    const d = this.#advised;
    return d ? `${this.#stays(c) ? words.leave : words.dial} ${settingWords(d)}` : words.noAnswer;
  }

  #hand(c: answers.CameraNow): TemplateResult {
    const d = this.#advised, is = this.#is, last = this.takes.value?.takes.find((t) => t.clips.some((x) => x.camera === c.camera));
    const clip = last?.clips.find((x) => x.camera === c.camera);
    const asks = this.stepped && clip && last && !this.#rolling;
    return html`${this.#stepper(c, is)}
      ${asks ? html`<div class="row">${button({ words: words.wasSo(last.name), press: () => void this.#wasSo(clip.clip) })}
        ${button({ words: words.turnedSince, press: () => { this.stepped = undefined; } })}</div>`
      : html`<div class="row four">${button({ words: words.card, press: () => day.go("card", { camera: c.camera }) })}
        ${c.reference ? nothing : this.#toggle(words.follow(this.#other), this.follow, () => { this.follow = !this.follow; })}
        ${this.#toggle(words.why, this.why, () => { this.why = !this.why; })}
        ${this.body.value?.fields["tint"] ? this.#toggle(words.tintDial, this.dial === "tint", () => {
          this.dial = this.dial === "tint" ? "kelvin" : "tint"; }) : nothing}</div>`}
      ${actRow([{ words: words.back, press: () => day.back() }],
        d && { words: this.#rolling ? words.turnedTo : words.isSet(c.letter), small: words.to(settingWords(d)),
          press: () => void this.#isSet() })}`;
  }

  #toggle(text: string, on: boolean, press: () => void): TemplateResult {
    return html`<button type="button" class="b" aria-pressed=${on ? "true" : "false"} @click=${press}>${text}</button>`;
  }

  /** #stepper turns a dial by its steps; its middle leads to where the setting is typed, or another way to set white is said. */
  #stepper(c: answers.CameraNow, is: { kelvin: number; tint: number } | undefined): TemplateResult {
    const type = (): void => day.go("dialled", { camera: c.camera, rolling: this.#rolling ? "yes" : undefined });
    const value = c.last ? upper(c.last.setting.words) : words.typeIt;
    if (!is) return stepper({ label: words.at(c.letter), small: words.itIsAt, value, press: type });
    const kelvin = this.dial === "kelvin", at = is[this.dial], unit = kelvin ? " K" : "";
    const { down, up } = kelvin ? kelvinBeside(this.body.value, at) : tintBeside(this.body.value, at);
    const step = (to: number | undefined, sign: string, label: (by: string) => string) => to === undefined ? undefined
      : { words: `${sign} ${Number(Math.abs(to - at).toFixed(2))}`, label: label(`${Number(Math.abs(to - at).toFixed(2))}${unit}`),
        press: () => void this.#step(to) };
    const read = c.last !== undefined || this.stepped !== undefined, here = kelvin ? `${is.kelvin} K` : words.tint(is.tint);
    return stepper({ label: words.at(c.letter), small: read ? words.itIsAt : words.notReadOff, value: read ? here : words.from(here),
      press: type, down: step(down, "−", words.less), up: step(up, "+", words.more) });
  }
}
customElements.define("ew-camera", Camera);
