// What a phone draws by chance: ids of records, lines, and chance for the engine.
import { hexOf } from "./bytes";

const drawn = (bytes: number) => crypto.getRandomValues(new Uint8Array(bytes));

/** drawLine names a start of the program. */
export const drawLine = () => hexOf(drawn(8));

/** drawChance is of what the engine makes ids for one message. */
export const drawChance = () => hexOf(drawn(16));

/** drawID is a UUID of version 7: its time is now, by the clock of the device put right. */
export function drawID(now: number): string {
  const b = drawn(16);
  for (let i = 5, left = now; i >= 0; i--, left = Math.floor(left / 256)) b[i] = left % 256;
  b[6] = (b[6]! & 0x0f) | 0x70;
  b[8] = (b[8]! & 0x3f) | 0x80;
  return hexOf(b).replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
