// Lights: what do I do to which light. One row a light, the worst first; the picked one is acted on.
import { html, nothing, type TemplateResult } from "lit";
import { digits, type Value } from "../capture";
import { Asked, day, Watched } from "../day";
import type { Form, LightNow, LightPlan, SetUpNow, SetUpPlan, SetUpPlane, Verdicts } from "../engine/answers.gen";
import { actRow, button, lightRow, noActs, Screen, type Act } from "../look";
import { drawing } from "../sheet/drawing";
import { mayWrite, whyNot } from "./may";
import { lights as words, states } from "../words";
import { lightSaid, worst } from "./light-words";
import { atSetUp, setUpChips, setUpsAsked } from "./set-ups";

const text = (n: number | undefined): string | undefined => (n === undefined ? undefined : String(n));

export class Lights extends Screen {
  static override properties = { picked: { state: true } };
  private declare picked: string;
  private order: string[] = []; // of the rows: it stays while the set-up is open
  private orderOf: string | undefined;

  private readonly setUps = setUpsAsked(this);
  private readonly now = new Asked<SetUpNow>(this, "now", () => atSetUp());
  private readonly plan = new Asked<SetUpPlan>(this, "plan", () => atSetUp());
  private readonly verdicts = new Asked<Verdicts>(this, "verdicts", () => atSetUp());
  private readonly plane = new Asked<SetUpPlane>(this, "plane", () => atSetUp({ draw: true }));
  private readonly form = new Asked<Form>(this, "form", () => (this.light ? { kind: "light", record: this.light.light } : undefined));

  constructor() {
    super();
    new Watched(this);
    this.picked = "";
  }

  private get lights(): LightNow[] { return this.now.value?.lights ?? []; }

  private get light(): LightNow | undefined {
    return this.lights.find((l) => l.light === this.picked) ?? this.lights.find((l) => l.light === this.order[0]);
  }

  private planOf(light: LightNow | undefined): LightPlan | undefined {
    return this.plan.value?.lights?.find((p) => p.light === light?.light);
  }

  protected override willUpdate(): void {
    const setUp = this.now.value?.setUp, said = this.verdicts.value?.lights;
    if (!setUp || !said) return;
    if (setUp !== this.orderOf) {
      this.order = worst(this.lights, said);
      this.orderOf = setUp;
      this.picked = day.here.what["light"] ?? "";
    }
    for (const l of this.lights) {
      if (!this.order.includes(l.light)) this.order.push(l.light);
    }
  }

  protected override render(): TemplateResult {
    const name = this.setUps.value?.setUps?.find((l) => l.setUp === day.here.setUp)?.name ?? "";
    return html`<main><h1 class="vh">${words.title(name)}</h1>${this.rows()}</main>
      <footer class="hand"><ew-done></ew-done>
        ${setUpChips(this.setUps.value?.setUps ?? [], (setUp) => day.go("lights", { setUp }),
          mayWrite() ? button({ words: words.add, press: () => day.go("light", { light: "new" }) }) : nothing)}
        ${mayWrite() ? this.acts() : noActs(whyNot())}
      </footer>`;
  }

  private rows(): TemplateResult {
    if (!day.here.setUp) return html`<p>${states.noSetUp}</p>`;
    if (!this.now.value) return html`<p>${this.now.fault?.message ?? states.reading}</p>`;
    if (this.lights.length === 0) return html`<p>${words.none}</p>`;
    const at = this.light?.light;
    const rows = this.order.flatMap((id) => {
      const i = this.lights.findIndex((l) => l.light === id), l = this.lights[i];
      if (!l) return [];
      const said = lightSaid(l, this.planOf(l), this.verdicts.value?.lights?.find((v) => v.record === id), i + 1);
      return [lightRow(said, id === at, () => this.pick(id, id === at))];
    });
    return html`${rows}${drawing(this.plane.svg, true)}
      ${(this.now.value.cautions ?? []).map((c) => html`<p class="s">${c}</p>`)}`;
  }

  /** pick opens the light that is picked already. */
  private pick(light: string, again: boolean): void {
    if (again && mayWrite()) day.go("light", { light });
    this.picked = light;
    if (!again) day.mark({ light });
  }

  private acts(): TemplateResult {
    const light = this.light, plan = this.planOf(light);
    const picture: Act = { words: words.picture, press: () => day.go("picture") };
    const measure: Act = { words: words.measure, icon: "measure", press: () => day.go("measure", { light: light?.light }) };
    if (!light) return actRow([], { words: words.add, press: () => day.go("light", { light: "new" }) });
    const number = this.lights.indexOf(light) + 1;
    const read = this.verdicts.value?.lights?.find((v) => v.record === light.light)?.word !== "missing";
    const gels = read && plan && !plan.stays ? (plan.gelUses ?? []).map((g) => g.name) : [];
    if (plan && gels.length > 0) return actRow([picture, measure], { words: words.gelIsOn, small: `${number}, ${gels.join(" + ")}`,
      press: () => void this.done(light, plan) });
    const dial = read && plan && !plan.stays && !plan.turnTowards ? words.dial(plan.dialKelvin, plan.dialGreenMagenta) : "";
    if (plan && dial) return actRow([picture, measure], { words: words.dialled, small: `${number}, ${dial}`, press: () =>
      void this.done(light, plan) });
    const change: Act = { words: words.change, press: () => day.go("light", { light: light.light }) };
    return actRow([picture, change], { ...measure, small: `${number} ${light.name}` });
  }

  /** done says that the light was set as the plan has it: it was turned, whatever it stood at before. */
  private async done(light: LightNow, plan: LightPlan): Promise<void> {
    const form = this.form.value;
    if (!form) return;
    const fields: Record<string, Value> = {};
    if ((plan.gels ?? []).length > 0) fields["rigged/gels"] = plan.gels ?? [];
    if (plan.dialKelvin !== undefined) fields["rigged/dialKelvin"] = digits(String(plan.dialKelvin));
    if (plan.dialGreenMagenta !== undefined) fields["rigged/dialGreenMagenta"] = digits(String(plan.dialGreenMagenta));
    const unsaid = Object.keys(fields).filter((name) => name !== "rigged/gels" && form.values[name] === undefined);
    if (unsaid.length > 0 && light.reading) {
      day.go("light", { light: light.light, dialKelvin: text(plan.dialKelvin), dialGreenMagenta: text(plan.dialGreenMagenta) });
      return;
    }
    await day.save({ kind: "light", record: light.light, fields, form });
  }
}
customElements.define("ew-lights", Lights);
