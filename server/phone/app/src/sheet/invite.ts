// An invitation for another phone: a code to scan off this one, or to type.
import { html, nothing, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import { actRow, chips, Screen } from "../look";
import { trouble } from "../place/files";
import { clock, server as words } from "../words";
import { drawing } from "./drawing";

interface Invitation { code: string; drawing?: string; expiresAt: string }

const roles = ["editor", "reader", "post", "owner"] as const;

export class Invite extends Screen {
  static override properties = { may: { state: true }, made: { state: true }, told: { state: true } };
  private declare may: (typeof roles)[number];
  private declare made: Invitation | undefined;
  private declare told: string;

  constructor() {
    super();
    this.may = "editor";
    this.told = "";
    new Watched(this);
  }

  private async invite(): Promise<void> {
    this.told = "";
    const body = { role: this.may, label: words.roles[this.may], production: day.here.production };
    try {
      this.made = await (await day.askServer("POST", "/v1/invitations", body)).json() as Invitation;
    } catch (e) {
      this.told = trouble(e);
    }
  }

  protected override render(): TemplateResult {
    const made = this.made;
    const back = { words: words.back, press: () => day.back() };
    return html`<main><h1 class=${made ? "vh" : "big"}>${words.inviteTitle}</h1>${made ? this.open(made) : nothing}
        <p role="alert">${this.told}</p></main>
      <footer class="hand">${made ? nothing : html`<p class="s">${words.rolesAre[this.may]}</p>
        ${chips(words.mayDo, roles.map((r) => ({ words: words.roles[r] ?? r, value: r })), this.may, (r) => { this.may = r; })}`}
        ${actRow([back], made ? undefined : { words: words.invite, press: () => void this.invite() })}</footer>`;
  }

  private open(i: Invitation): TemplateResult {
    return html`<section class="panel tight" role="status"><p><b class="big">${i.code.replace(/(.{4})(?=.)/, "$1 ")}</b>
        <span class="s">${words.goodUntil(clock(i.expiresAt))}</span></p>
        <p class="s">${i.drawing ? words.scanIt : words.typeIt}</p></section>
      ${drawing(i.drawing)}`;
  }
}
customElements.define("ew-invite", Invite);
