// The frame: the status line, what must be said, and the screen that is open: the sheet on top, or
// the place.
import { html, type TemplateResult } from "lit";
import { unsafeStatic, html as staticHTML } from "lit/static-html.js";
import { day, Watched, type StatusState } from "./day";
import { Plain, statusLine, type IconName } from "./look";
import { words } from "./words";

const icons: Record<StatusState, IconName> = {
  revoked: "revoked", unpaired: "notPaired", notSetUp: "notSetUp", old: "old", here: "here", sent: "sent",
};

/** saidOfStatus is where the data is, in words and with its number. */
function saidOfStatus(): { icon: IconName; words: string; right: string | undefined } {
  const { state, count, since, at } = day.status;
  const time = (t: Date | undefined) => t?.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  const counted = state === "here" || state === "old";
  return {
    icon: icons[state],
    words: counted ? `${count} ${words.status[state]}` : words.status[state],
    right: since ? `${words.status.since} ${time(since)}` : time(at),
  };
}

class App extends Plain {
  constructor() {
    super();
    new Watched(this);
  }

  #screen(name: string): TemplateResult {
    const element = `ew-${name}`;
    if (customElements.get(element)) return staticHTML`<${unsafeStatic(element)} class="through"></${unsafeStatic(element)}>`;
    return html`<main><p>${words.notHere}</p></main>
      <footer class="hand"><div class="acts"><button class="b" @click=${() => day.back()}>${words.back}</button></div></footer>`;
  }

  protected override render() {
    return html`<div class="top">${statusLine({ ...saidOfStatus(), href: "#handover" })}
      ${[...day.notices].map((n) => html`<p class="notice" role="status" data-notice=${n}>${words.notices[n]}</p>`)}</div>
      ${this.#screen(day.here.sheet ?? (day.here.production ? day.here.place : "first"))}`;
  }
}

customElements.define("ew-app", App);
