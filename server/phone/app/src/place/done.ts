// What was done last on this phone, with its undo; else the strip that a place hands in.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type Act, type answers } from "../day";
import type { Made } from "../day/acts";
import { Plain, type Act as Press, type UndoSaid } from "../look";
import { clock, done as words } from "../words";
import { madeSaid, takeIn } from "./done-said";

/** fresh is how long after an act its panel may still open: whoever comes back to a place sees what the sheet did. */
const fresh = 10_000;

/** over is the act whose panel has gone, in whatever place it was. */
let over: Act | undefined;

export class Done extends Plain {
  static override properties = { strip: { attribute: false }, act: { state: true }, made: { state: true }, fault: { state: true } };
  declare strip: TemplateResult | typeof nothing;
  declare act: Act | undefined;
  declare made: readonly Made[] | undefined;
  declare fault: string | undefined;
  readonly cameras = new Asked<answers.RecordsPage>(this, "list", () => ({ kind: "camera", limit: 100 }));

  constructor() {
    super();
    this.strip = nothing;
    new Watched(this);
  }

  protected override willUpdate(): void {
    const last = day.last;
    if (!last || last === this.act || last === over) return;
    if (!this.hasUpdated && Date.now() - last.at > fresh) return;
    this.act = last;
    this.made = this.fault = undefined;
    last.made.then((made) => { if (this.act === last) this.made = made; },
      (e: Error) => { if (this.act === last) this.fault = e.message; });
  }

  /** #letters are those of the cameras, by id. */
  get #letters(): Map<string, string> {
    const all = (this.cameras.value?.records ?? []) as { id: string; letter?: string }[];
    return new Map(all.map((c) => [c.id, c.letter ?? ""]));
  }

  #end(): void {
    over = this.act;
    this.act = undefined;
  }

  get #acts(): Press[] {
    const act = this.act, made = this.made;
    if (!act || !made?.length || act.name === "undo") return [];
    const take = takeIn(made);
    const all: Press[] = [{ words: words.undo, press: () => void day.undo(act) }];
    if (take?.created && take.set["state"] === undefined) all.push({ words: words.noGood, press: () => void this.#noGood(take.record) });
    if (take) all.push({ words: words.change, press: () => day.go("take", { kind: "take", record: take.record }) });
    return all;
  }

  async #noGood(take: string): Promise<void> {
    const form = await day.ask<answers.Form>("form", { kind: "take", record: take }).then((a) => a.value, () => undefined);
    await day.save({ kind: "take", record: take, fields: { state: "noGood" }, ...(form && { form }) });
  }

  protected override render(): TemplateResult {
    const act = this.act;
    let said: UndoSaid | undefined;
    if (act) {
      const time = clock(new Date(act.at).toISOString());
      if (this.fault !== undefined) said = { title: words.notMade, time, lines: [{ letter: "", words: this.fault, source: words.kept }] };
      else said = { ...(this.made ? madeSaid(act, this.made, this.#letters) : { title: words.saved, lines: [] }), time };
    }
    return html`<ew-undo .said=${said} .acts=${this.#acts} @ew-over=${() => this.#end()}></ew-undo>${said ? nothing : this.strip}`;
  }
}
customElements.define("ew-done", Done);
