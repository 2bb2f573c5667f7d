// Files: the colour log for post, bundles out and in.
import { html, nothing, type TemplateResult } from "lit";
import { day, Refused, Unreachable, Watched } from "../day";
import { chips, Plain } from "../look";
import { files as words } from "../words";
import { dayOpen } from "./findings";
import { setUpsAsked } from "./set-ups";

/** saved hands what the server answered to the person, under the name that it says. */
export async function download(path: string, name: string): Promise<void> {
  const answer = await day.askServer("GET", path);
  const given = /filename="?([^";]+)/.exec(answer.headers.get("Content-Disposition") ?? "")?.[1];
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await answer.blob());
  link.download = given ?? name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

export const trouble = (e: unknown): string =>
  e instanceof Unreachable ? words.unreachable : e instanceof Refused ? words.refused(e.message) : words.refused(e instanceof Error
    ? e.message : String(e));

export class Files extends Plain {
  static override properties = { told: { state: true }, only: { state: true } };
  private declare told: string;
  private declare only: boolean; // the day that is open, and not all of the production
  private readonly setUps = setUpsAsked(this);

  constructor() {
    super();
    new Watched(this);
    this.told = "";
    this.only = false;
  }

  private async trying(what: () => Promise<string | void>): Promise<void> {
    this.told = "";
    try {
      this.told = (await what()) ?? "";
    } catch (e) {
      this.told = trouble(e);
    }
  }

  private get at(): string { return `${day.production?.invented ? "/look-around" : ""}/v1/productions/${day.here.production}`; }

  private log(words: string, form: string, of: string | undefined): TemplateResult {
    const path = `${this.at}/color-log.${form}${of ? `?day=${of}` : ""}`;
    return html`<button type="button" class="b" @click=${() => void this.trying(() => download(path,
      `color-log.${form}`))}>${words}</button>`;
  }

  /** bundle is the server's, which has what all phones sent; where it does not answer, what this phone holds, and that is said. */
  private async bundle(): Promise<string> {
    if (day.paired && !day.production?.invented) {
      try {
        await download(`${this.at}/bundle`, "production.bundle");
        return words.bundleThere;
      } catch (e) {
        if (!(e instanceof Unreachable)) throw e;
      }
    }
    await day.saveAsFile(false);
    return words.bundleHere;
  }

  protected override render(): TemplateResult {
    const today = dayOpen(this.setUps.value?.setUps), of = this.only ? today : undefined;
    return html`<section class="label"><h2 class="ttl">${words.title}</h2><p class="s">${words.why}</p>
      ${today ? chips(words.which, [{ words: words.allDays, value: false }, { words: words.thisDay, value: true }], this.only,
        (only) => { this.only = only; }) : nothing}
      <div class="row">${this.log(words.colorLog, "csv", of)}${this.log(words.xlsx, "xlsx", of)}${this.log(words.json, "json", of)}
        ${this.log(words.zip, "zip", of)}</div>
      <div class="row"><button type="button" class="b" @click=${() => void this.trying(() => this.bundle())}>${words.bundle}</button>
        <label class="b file"><input class="vh" type="file" @change=${(e: Event) =>
          void this.take(e.target as HTMLInputElement)}>${words.takeIn}</label></div>
      ${this.told ? html`<p role="status">${this.told}</p>` : nothing}</section>`;
  }

  private take(input: HTMLInputElement): Promise<void> {
    return this.trying(async () => {
      const file = input.files?.[0];
      input.value = "";
      if (!file) return "";
      const told = await day.takeFile(file);
      if (!told) return words.noBundle(file.name);
      return [words.taken(told.edits, told.new), told.damaged ?? ""].filter(Boolean).join(" ");
    });
  }
}
customElements.define("ew-files", Files);
