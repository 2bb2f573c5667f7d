import { html, nothing, type TemplateResult } from "lit";
import { icon } from "./icon";
import { ruler } from "./ruler";
import { mark, verdict, type VerdictSaid } from "./verdict";

/** LightSaid is a light: how it is, and what is to be done to it. */
export interface LightSaid {
  number?: string | undefined; // as in the picture
  name: string;
  role: string; // "key, match"
  verdict: VerdictSaid;
  off?: string | undefined; // "119 warmer"
  mired?: number | undefined;
  limit?: number | undefined;
  greenMagenta?: { duv: number; limit: number; words: string } | undefined; // only where it is beyond
  toDo?: string | undefined;
  then?: string | undefined; // "then 1 warmer, loses 2 stops"
  small: string; // "3150 K, Duv +0.0004, 900 lx, 17:37"
}

export function lightRow(l: LightSaid, picked: boolean, pick: () => void): TemplateResult {
  const gm = l.greenMagenta;
  return html`<button type="button" class="light" aria-pressed=${picked ? "true" : "false"} @click=${pick}>
    <span class="top">${l.number ? html`<span class="tag">${l.number}</span>` : nothing}
      <span class="ttl grow">${l.name}</span><span class="s">${l.role}</span></span>
    <span class="say">${verdict({ ...l.verdict, mired: l.mired })}${l.off ? html`<b>${l.off}</b>` : nothing}</span>
    ${l.limit ? ruler(l.mired, l.limit, `${l.off ?? ""}`) : nothing}
    ${gm ? html`<span>${gm.words}</span>${ruler(gm.duv, gm.limit, gm.words)}` : nothing}
    ${l.toDo ? html`<span class="todo"><b>${l.toDo}</b></span>` : nothing}
    ${l.then ? html`<span>${l.then}</span>` : nothing}
    <span class="s">${l.small}</span></button>`;
}

/** FindingSaid is something that is off, or that waits for a person. */
export interface FindingSaid {
  verdict: VerdictSaid;
  where: string; // "44 B, key"
  headline: string;
  toDo?: string | undefined;
  then?: string | undefined;
}

export function findingRow(f: FindingSaid, picked: boolean, pick: () => void): TemplateResult {
  return html`<button type="button" class="find" aria-pressed=${picked ? "true" : "false"} @click=${pick}>
    <span class="top">${verdict(f.verdict)}<span class="s">${f.where}</span></span>
    <span class="ttl">${f.headline}</span>
    ${f.toDo ? html`<span class="todo">${f.toDo}</span>` : nothing}
    ${picked && f.then ? html`<span class="s">${f.then}</span>` : nothing}</button>`;
}

/** TakeSaid is a take with the clip of each camera. */
export interface TakeSaid {
  name: string; // "take 3", "chart"
  state?: string | undefined; // "no good", "wanted"
  time: string;
  asked?: string | undefined; // somebody asks something about it
  clips: { letter: string; name: string; set: string; verdict?: VerdictSaid | undefined }[];
}

export function takeRow(t: TakeSaid, picked: boolean, pick: () => void): TemplateResult {
  return html`<button type="button" class="take" aria-pressed=${picked ? "true" : "false"} @click=${pick}>
    <span class="top"><span class="ttl grow">${t.name}</span>${t.asked ? html`<b class="say">${icon("asked")}${t.asked}</b>` : nothing}
      ${t.state ? html`<b>${t.state}</b>` : nothing}
      <span class="s">${t.time}</span></span>
    ${t.clips.map((c) => html`<span class="clip"><b>${c.letter}</b><span><span class="s">${c.name}</span> ${c.set}</span>${
      c.verdict ? verdict(c.verdict) : nothing}</span>`)}</button>`;
}

/** note is one line that leads somewhere. */
export function note(v: VerdictSaid | undefined, words: string, press: () => void): TemplateResult {
  return html`<button type="button" class="note" @click=${press}>
    ${v ? mark(v) : nothing}<span class="grow"><b>${words}</b></span></button>`;
}
