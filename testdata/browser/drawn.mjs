// Stills as files, of pixels that a test says: at(x, y) answers R G B in codes of 8 or of 16 bits.
import { deflateSync } from "node:zlib";
import { part } from "./grey.mjs";

/** rows are the codes of a picture, row by row; each row begins with some bytes of 0. */
function rows({ width, height, bits, at }, before, little) {
  const each = bits / 8, out = Buffer.alloc(height * (before + 3 * each * width));
  let to = 0;
  for (let y = 0; y < height; y++) {
    to += before;
    for (let x = 0; x < width; x++) {
      for (const code of at(x, y)) to = bits === 8 ? out.writeUInt8(code, to) : out[little ? "writeUInt16LE" : "writeUInt16BE"](code, to);
    }
  }
  return out;
}

/** png is a PNG of R G B. */
export function png(of) {
  const head = Buffer.alloc(13);
  head.writeUInt32BE(of.width, 0);
  head.writeUInt32BE(of.height, 4);
  head[8] = of.bits;
  head[9] = 2;
  return Buffer.concat([Buffer.from("\x89PNG\r\n\x1a\n", "latin1"), part("IHDR", head), part("IDAT", deflateSync(rows(of, 1))),
    part("IEND", Buffer.alloc(0))]);
}

/** tiff is one without compression, in one strip before the table of its tags, with its least byte first where little says so. */
export function tiff(of, little = true) {
  const strip = rows(of, 0, little), out = (bytes) => Buffer.alloc(bytes);
  const short = (b, n, to) => (little ? b.writeUInt16LE(n, to) : b.writeUInt16BE(n, to));
  const long = (b, n, to) => (little ? b.writeUInt32LE(n, to) : b.writeUInt32BE(n, to));
  const head = out(8), bits = out(6), from = 8, at = from + strip.length + 6;
  head.write(little ? "II" : "MM", "latin1");
  short(head, 42, 2);
  long(head, at, 4);
  for (let i = 0; i < 3; i++) short(bits, of.bits, 2 * i);
  const tags = [[256, 4, 1, of.width], [257, 3, 1, of.height], [258, 3, 3, from + strip.length], [259, 3, 1, 1], [262, 3, 1, 2],
    [273, 4, 1, from], [277, 3, 1, 3], [278, 3, 1, of.height], [279, 4, 1, strip.length]];
  const table = out(2 + 12 * tags.length + 4);
  short(table, tags.length, 0);
  for (const [i, [tag, kind, count, value]] of tags.entries()) {
    const to = 2 + 12 * i;
    short(table, tag, to);
    short(table, kind, to + 2);
    long(table, count, to + 4);
    (kind === 3 && count === 1 ? short : long)(table, value, to + 8);
  }
  return Buffer.concat([head, strip, bits, table]);
}

/**
 * meanOf is what a patch says in the mean of its light, by the curve of a display (ITU-R BT.1886 with no black): R G B to a tenth
 * of a code.
 */
export function meanOf({ bits, at }, { x, y, w, h }) {
  const sum = [0, 0, 0], top = 2 ** bits - 1;
  for (let row = y; row < y + h; row++) {
    for (let column = x; column < x + w; column++) at(column, row).forEach((code, i) => { sum[i] += (code / top) ** 2.4; });
  }
  return sum.map((s) => Math.round(10 * top * (s / (w * h)) ** (1 / 2.4)) / 10);
}
