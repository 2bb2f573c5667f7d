// What the server alone knows: the devices, invitations, backups. Whoever may not ask is not shown it.
import { html, nothing, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import { Plain } from "../look";
import { clock, date, server as words } from "../words";
import { trouble } from "./files";

interface Device { device: string; label: string; roles: Record<string,
  string>; revokedAt?: string; seenAt?: string; unsent?: number; own?: boolean; keyed?: boolean }
interface Backup { name: string; madeAt: string; bytes: number; check: string }

export class ServerPart extends Plain {
  static override properties = { devices: { state: true }, backups: { state: true }, told: { state: true } };
  private declare devices: Device[] | undefined;
  private declare backups: Backup[] | undefined;
  private declare told: string;

  constructor() {
    super();
    new Watched(this);
    this.told = "";
  }

  private get owns(): boolean { return day.admission?.role === "owner"; }

  override connectedCallback(): void {
    super.connectedCallback();
    void this.look();
  }

  private async json<T>(method: string, path: string, body?: object): Promise<T> {
    return await (await day.askServer(method, path, body)).json() as T;
  }

  private async trying(what: () => Promise<void>): Promise<void> {
    this.told = "";
    try {
      await what();
    } catch (e) {
      this.told = trouble(e);
    }
  }

  private look(): Promise<void> {
    return this.trying(async () => {
      if (!this.owns) return;
      this.devices = (await this.json<{ devices: Device[] }>("GET", "/v1/devices")).devices;
      if (!this.everywhere) return;
      this.backups = (await this.json<{ backups: Backup[] }>("GET", "/v1/backups")).backups;
    });
  }

  /** everywhere says that this phone owns the server, and not one production alone. */
  private get everywhere(): boolean { return this.devices?.find((d) => d.device === day.admission?.device)?.roles["*"] === "owner"; }

  protected override render(): TemplateResult | typeof nothing {
    if (!this.owns) return nothing;
    return html`<section class="label"><h2 class="ttl">${words.devices}</h2>${(this.devices ?? []).filter((d) => !d.own).map((d) =>
      this.device(d))}
        <button type="button" class="b" @click=${() => day.go("invite")}>${words.invite}</button></section>
      ${this.everywhere ? html`<section class="label"><h2 class="ttl">${words.backups}</h2><p>${this.newest()}</p>
        <button type="button" class="b" @click=${() => void this.trying(() => this.backUp())}>${words.backUp}</button></section>` : nothing}
      ${this.told ? html`<p role="alert">${this.told}</p>` : nothing}`;
  }

  private device(d: Device): TemplateResult {
    const facts = [d.revokedAt ? words.revoked : d.seenAt ? words.seen(clock(d.seenAt)) : words.notSeen, d.unsent ? words.unsent(d.unsent)
      : "",
      [...new Set(Object.values(d.roles))].map((r) => words.roles[r] ?? r).join(", ")].filter(Boolean);
    const here = d.device === day.admission?.device;
    return html`<div class="row apart"><p class="grow"><b>${d.label}</b>${here ? ` ${words.thisPhone}` : ""}<br><span
      class="s">${facts.join(" · ")}</span></p>
      ${d.revokedAt || here ? nothing : html`<button type="button" class="b" aria-label=${words.revokeOf(d.label)}
        @click=${() => void this.trying(() => this.revoke(d.device))}>${words.revoke}</button>`}</div>`;
  }

  private newest(): string {
    const last = this.backups?.[0];
    return last ? words.lastBackup(date(last.madeAt), clock(last.madeAt), (last.bytes / 1e6).toFixed(1),
      last.check) : words.noBackup;
  }

  private async revoke(device: string): Promise<void> {
    await day.askServer("DELETE", `/v1/devices/${device}`);
    await this.look();
  }

  private async backUp(): Promise<void> {
    await day.askServer("POST", "/v1/backups");
    await this.look();
  }
}
customElements.define("ew-server", ServerPart);
