// Whether anything can be entered here, and the one sentence that stands in place of acts where not.
import { day } from "../day";
import { mayNot, words } from "../words";

export const mayWrite = (): boolean => day.mayWrite && !day.notices.has("looksOnly");

export function whyNot(): string {
  const why = (["newerStore", "otherTab", "storeDenied"] as const).find((n) => day.notices.has(n));
  return why ? words.notices[why] : mayNot;
}
