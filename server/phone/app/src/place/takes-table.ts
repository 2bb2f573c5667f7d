// The takes of one set-up as a table, for a wide screen: a row a clip.
import { html, type TemplateResult } from "lit";
import type { ClipLine, TakeLine } from "../engine/answers.gen";
import { verdict } from "../look/verdict";
import { openAt, type NoteRow } from "./asked-notes";
import { knownHowOf, offWords, spoken, takes as words, upper } from "../words";

/** rowKey tells a row from others: a clip stands in each take that it holds. */
export const rowKey = (t: TakeLine, c: ClipLine): string => `${t.take ?? ""} ${c.clip}`;

/** takesTable draws the clips of takes; pick is told which one somebody pressed. */
export function takesTable(
  all: readonly TakeLine[], notes: readonly NoteRow[], picked: string, pick: (take: TakeLine, clip: ClipLine) => void,
): TemplateResult {
  return html`<div class="table clips"><table><thead><tr>${words.columns.map((c) => html`<th scope="col">${c}</th>`)}</tr></thead>
    <tbody>${all.flatMap((t) => (t.clips ?? []).map((c) => row(t, c, openAt(t, notes) !== undefined, rowKey(t, c) === picked,
      () => pick(t, c))))}</tbody></table></div>`;
}

function row(t: TakeLine, c: ClipLine, asked: boolean, picked: boolean, pick: () => void): TemplateResult {
  return html`<tr aria-selected=${picked} data-clip=${c.clip} data-row=${rowKey(t, c)} @click=${pick}>
    <td>${upper(spoken(t.name.replace(/^take /, "")))}${t.state === "noGood" ? html` <b>${words.isNoGood}</b>` : ""}${
      asked ? html` <b>${words.asked}</b>` : ""}</td>
    <td><button type="button" class="b plain" aria-pressed=${picked}>${c.name ?? `${c.letter} ${words.noName}`}</button></td>
    <td class="n">${c.timecode?.start ?? ""}</td><td>${c.setting.words}</td><td>${knownHowOf(c.settingsAre)}</td>
    <td>${c.verdict === undefined ? "" : verdict({ word: c.verdict, times: c.times, mired: c.offAim?.mired })}</td>
    <td>${c.offAim ? offWords({ mired: c.offAim.mired }) || "0" : ""}</td></tr>`;
}
