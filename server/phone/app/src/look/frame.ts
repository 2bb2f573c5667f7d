import { html, nothing, type TemplateResult } from "lit";
import { icon, type IconName } from "./icon";

/** Act is a button of the act row; the filled one is the first act of its screen. */
export interface Act {
  words: string;
  small?: string | undefined;
  icon?: IconName;
  press: (e: Event) => void;
}

/** statusLine says where the data is, by a shape, words and a number; all of it is one button. */
export function statusLine(is: { icon: IconName; words: string; right?: string | undefined; press: () => void }): TemplateResult {
  return html`<header class="status"><button type="button" @click=${is.press}>
    <span class="l">${icon(is.icon)}${is.words}</span>${is.right ? html`<span class="s">${is.right}</span>` : nothing}
  </button></header>`;
}

/** PlaceSaid is a place in the bar. */
export interface PlaceSaid {
  icon: IconName;
  words: string;
  here: boolean;
  wide?: boolean; // only where there is room
  press: () => void;
}

/** DaySaid is a day in the rail of the desk. */
export interface DaySaid { words: string; here: boolean; press: () => void }

/** placesBar is below on a phone and a rail on the left of a wide screen; the desk has the days under it. */
export function placesBar(places: PlaceSaid[], words: string, days: DaySaid[], daysWords: string): TemplateResult {
  return html`<nav class="places" aria-label=${words}>${places.map((p) => html`
    <button type="button" class=${p.wide ? "wide-only" : ""} aria-current=${p.here ? "page" : nothing} @click=${p.press}>
      ${icon(p.icon)}<span>${p.words}</span></button>`)}
    ${days.length === 0 ? nothing : html`<p class="s desk-only">${daysWords}</p>${days.map((d) => html`
      <button type="button" class="desk-only" aria-current=${d.here ? "date" : nothing} @click=${d.press}>
        <span>${d.words}</span></button>`)}`}
    </nav>`;
}

/** actRow is where the thumb is: first the others, the first act last, so that it stands lower right. */
export function actRow(others: Act[], first?: Act): TemplateResult {
  const kind = others.length < 2 ? "b act wide" : "b act";
  return html`<div class="acts">${others.map((a) => button(a, "b col"))}${first ? button(first, kind) : nothing}</div>`;
}

/** evenActs are two acts of which none is offered before the other. */
export function evenActs(acts: Act[]): TemplateResult {
  return html`<div class="acts even">${acts.map((a) => button(a, "b col"))}</div>`;
}

/** acts that this phone may not do are one sentence instead: no dead buttons. */
export function noActs(sentence: string): TemplateResult {
  return html`<div class="acts"><p>${sentence}</p></div>`;
}

export function button(a: Act, kind = "b"): TemplateResult {
  return html`<button type="button" class=${kind} @click=${a.press}>${a.icon ? icon(a.icon) : nothing}${a.words}${
    a.small ? html`<small>${a.small}</small>` : nothing}</button>`;
}

/** strip is one line about the last thing that was logged, with what can be done to it. */
export function strip(title: string, beside: string, small: string, acts: Act[]): TemplateResult {
  return html`<div class="strip"><p class="grow"><b>${title}</b> ${beside}<br><span class="s">${small}</span></p>${
    acts.map((a) => button(a))}</div>`;
}

/** Chip is one of several. */
export interface Chip<T> {
  words: string;
  value: T;
  small?: string | undefined;
}

/** chips pick one of several. */
export function chips<T>(label: string, items: Chip<T>[], picked: T | undefined, pick: (value: T) => void): TemplateResult {
  return html`<div class="row" role="group" aria-label=${label}>${items.map((i) => html`
    <button type="button" class="b" aria-pressed=${i.value === picked ? "true" : "false"} @click=${() => pick(i.value)}>${i.words}${
      i.small ? html`<small>${i.small}</small>` : nothing}</button>`)}</div>`;
}
