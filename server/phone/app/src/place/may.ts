// Whether anything can be entered here, and the one sentence that stands in place of acts where not.
import { html, type TemplateResult } from "lit";
import { day } from "../day";
import { actRow, noActs } from "../look";
import { mayNot, words } from "../words";

export const mayWrite = (): boolean => day.mayWrite && !day.looks && !day.notices.has("looksOnly");

/** mayNote says whether a note can be written here: whoever finishes the picture writes nothing else. */
export const mayNote = (): boolean => day.mayWrite && (mayWrite() || day.looks === "post");

export function whyNot(): string {
  const why = (["newerStore", "otherTab", "storeDenied"] as const).find((n) => day.notices.has(n));
  return why ? words.notices[why] : mayNot;
}

/** onlyBack is the act row of a sheet in which nothing can be entered here. */
export const onlyBack = (): TemplateResult =>
  html`${noActs(whyNot())}${actRow([{ words: words.back, press: () => day.back() }])}`;
