// What a form enters becomes the bytes of an edit. Pure: no page, no storage, no engine.
export { framed, frames, headOf, hexBytes, hexOf, Writer, type Head } from "./bytes";
export { bytesOfEdit, dotText, parseDot, TooLong, type Change, type Dot, type Draft } from "./edit";
export { drawChance, drawID, drawLine } from "./id";
export { canonical, Digits, digits, parse, type Value } from "./value";
