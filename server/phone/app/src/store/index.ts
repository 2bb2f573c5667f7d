// What the phone keeps, in IndexedDB. Whatever is told as saved was told so by a transaction that
// is complete, with durability "strict".
export { Store, type Kept } from "./store";
export { pageOf } from "./pages";
export { StoreFault, type StoreTrouble } from "./fault";
export type { AnswerRow, DraftRow, EditRow, LogRow, NotMade, ProductionRow, WaitingRow } from "./tables";
