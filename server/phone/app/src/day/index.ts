// What screens use, and nothing else: import { day, Asked, Watched, digits, type answers } from "../day".
//
//   asked = new Asked<answers.SetUpNow>(this, "now", () => day.here.setUp ? { setUp: day.here.setUp } : undefined);
//     .value the last answer, from the store first · .asOf the time of a stored one that is not confirmed yet
//     .early older days are still being read: the answer may move · .fault why there is none · .svg the picture (draw: true)
//     Messages and answers: logbook/handset/doc.go; "now" is added. Numbers in form.values and record.fields are Digits.
//   new Watched(this)                        draws the element anew whenever day changed
//   day.here                                 place, sheets, sheet, production, setUp, camera, what {light, record …}
//   day.go(place | sheet, {setUp, camera, light …})   day.back()
//   day.mark({record …})                     what is picked on the screen that is open, for whoever comes back to it
//   day.event(setUp, {event: "nextTake"})    what happened at the slate; the form "event" lists all
//   day.save({kind, record?, fields, form})  fields as touched: texts, booleans, digits("5600"), null to clear, groups, lists
//   day.create(kind, object) · day.settle(…) · day.strike(kind, record) · day.restore(kind, record) · day.undo(act)
//     Each resolves when it is STORED, with an Act: {name, at, made}; made is a promise of its edits (dot, kind, record,
//     set, created), which rejects with an EngineFault where none could be made. day.last is the act that was done last.
//     It throws a StoreFault where it could not be stored: nothing of before is lost, and day.notices says it.
//   day.find({begins: "A001", camera: "B", …})  clips, as the service lists them: offline too
//   day.ask<T>(name, message, bytes?)        once: color, judge, still … → {value, bytes}
//   day.status {state, count, since, at} · day.notices (a Set) · day.mayWrite · day.by · day.hold(name) · day.productions
//   day.lookAround() · day.pair(code, {label, by}) · day.open(production) · day.remove(production) · day.productionsThere()
//   day.saveAsFile(unsent) · day.takeFile(file) · day.askServer(method, path, body?) · day.exchange() · day.takeVersion() · day.kept
//     pair and askServer throw Refused (status, type, message: the server's words) or Unreachable.
//   With no production the shell opens <ew-first> (first run); /pair#secret opens the sheet "pair"; day.secret holds it.
//   day.notMade() lists what was pressed and could not be logged (notice "notMade"); day.dropNotMade(id) gives it up,
//     day.tryAgain(id) has it made anew, once what it lacked is there
//   day.drafts.read(sheet, record) / keep(sheet, record, value) / drop(sheet, record)
//
// Elements draw in light DOM under the one sheet of look/ (classes Plain and Screen of look/). A file place/now.ts defines
// <ew-now>, a file sheet/measure.ts defines <ew-measure>: what they are called is what day.go opens. They are found
// by their files; there is no list to add them to.
export { Asked } from "./asked";
export { day } from "./day";
export { Watched } from "./watched";
export { places, type Here, type Place, type What } from "./here";
export type { Act, Made, Save, Settle } from "./acts";
export type { Notice, Status, StatusState } from "./status";
export { Digits, digits, type Value } from "../capture";
export { EngineFault, EngineGone } from "../engine";
export { Refused, Unreachable, type Admission } from "../link";
export { StoreFault, type NotMade, type ProductionRow } from "../store";
export type * as answers from "../engine/answers.gen";
