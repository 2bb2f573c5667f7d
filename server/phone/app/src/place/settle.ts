// Settle: what waits for a person. Choose, Off, Accepted.
import { html, type TemplateResult } from "lit";
import { Asked, day, Watched, type NotMade } from "../day";
import type { ConflictsPage, Quarantine, TwinsPage } from "../engine/answers.gen";
import { chips, Screen } from "../look";
import { settle as words } from "../words";
import { questions } from "./questions";
import { setUpsAsked } from "./set-ups";
import { findingsAsked } from "./findings";
import "./choose";
import "./off";

const parts = ["choose", "off", "accepted"] as const;
type Part = (typeof parts)[number];

export class Settle extends Screen {
  static override properties = { notMade: { state: true } };
  private declare notMade: readonly NotMade[];

  private readonly conflicts = new Asked<ConflictsPage>(this, "conflicts", () => ({ limit: 100 }));
  private readonly twins = new Asked<TwinsPage>(this, "twins", () => ({ limit: 100 }));
  private readonly kept = new Asked<Quarantine>(this, "quarantine", () => ({}));
  private readonly setUps = setUpsAsked(this);
  private readonly off = findingsAsked(this, this.setUps, false);
  private readonly accepted = findingsAsked(this, this.setUps, true);

  constructor() {
    super();
    this.notMade = [];
    new Watched(this);
  }

  protected override willUpdate(): void {
    if (!day.notices.has("notMade") && this.notMade.length === 0) return;
    void day.notMade().then((all) => {
      const said = (rows: readonly NotMade[]): string => rows.map((row) => `${row.id} ${row.fault}`).join("\n");
      if (said(all) !== said(this.notMade)) this.notMade = all;
    }, () => {});
  }

  protected override render(): TemplateResult {
    const waits = questions(this.conflicts.value, this.twins.value, this.kept.value, this.notMade);
    const off = this.off.value, accepted = this.accepted.value;
    const at: Part = parts.find((p) => p === day.here.what["part"]) ?? (day.here.what["finding"] ? "off" : undefined)
      ?? (waits.length === 0 && (off?.deviations ?? []).length > 0 ? "off" : "choose");
    const strip = chips(words.which, [
      { words: words.choose(waits.length), value: "choose" as Part },
      { words: words.off((off?.deviations ?? []).length), value: "off" as Part },
      { words: words.accepted((accepted?.deviations ?? []).length), value: "accepted" as Part },
    ], at, (part) => day.mark({ part, finding: "" }));
    return at === "choose"
      ? html`<ew-choose .waits=${waits} .read=${this.conflicts.value !== undefined} .strip=${strip}></ew-choose>`
      : html`<ew-off .found=${at === "off" ? off : accepted} .accepted=${at === "accepted"} .strip=${strip}></ew-off>`;
  }
}
customElements.define("ew-settle", Settle);
