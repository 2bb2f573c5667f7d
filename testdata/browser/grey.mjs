// A picture of a screen in greys alone as a smaller file: PNG with one value a pixel instead of three.
import { deflateSync, inflateSync } from "node:zlib";

const paeth = (a, b, c) => {
  const p = a + b - c, [x, y, z] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)];
  return x <= y && x <= z ? a : y <= z ? b : c;
};

/** grey takes a PNG of 8 bits and three or four values a pixel, as browsers write it. What is no grey is refused. */
export function grey(png) {
  let at = 8, width = 0, height = 0, values = 0;
  const parts = [];
  while (at < png.length) {
    const long = png.readUInt32BE(at), kind = png.toString("latin1", at + 4, at + 8), body = png.subarray(at + 8, at + 8 + long);
    if (kind === "IHDR") [width, height, values] = [body.readUInt32BE(0), body.readUInt32BE(4), body[9] === 6 ? 4 : 3];
    if (kind === "IDAT") parts.push(body);
    at += long + 12;
  }
  const raw = inflateSync(Buffer.concat(parts)), row = width * values, out = Buffer.alloc(height * (width + 1));
  let before = Buffer.alloc(row);
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (row + 1)], line = Buffer.from(raw.subarray(y * (row + 1) + 1, (y + 1) * (row + 1)));
    for (let x = 0; x < row; x++) {
      const a = x >= values ? line[x - values] : 0, b = before[x], c = x >= values ? before[x - values] : 0;
      line[x] += [0, a, b, (a + b) >> 1, paeth(a, b, c)][filter];
    }
    out[y * (width + 1)] = 2; // each row as its difference from the one above
    for (let x = 0; x < width; x++) {
      const [r, g, b] = [line[x * values], line[x * values + 1], line[x * values + 2]];
      if (r !== g || g !== b) throw new Error(`the pixel ${x} ${y} is ${r} ${g} ${b}, and no grey`);
      out[y * (width + 1) + 1 + x] = r - before[x * values];
    }
    before = line;
  }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head[8] = 8;
  return Buffer.concat([png.subarray(0, 8), part("IHDR", head), part("IDAT", deflateSync(out, { level: 9 })),
    part("IEND", Buffer.alloc(0))]);
}

/** part is a chunk of a PNG. */
export function part(kind, body) {
  const out = Buffer.alloc(body.length + 12);
  out.writeUInt32BE(body.length, 0);
  out.write(kind, 4, "latin1");
  body.copy(out, 8);
  out.writeUInt32BE(sum(out.subarray(4, body.length + 8)), body.length + 8);
  return out;
}

/** sum is the CRC-32 of a part of a PNG. */
function sum(bytes) {
  let c = 0xffffffff;
  for (const byte of bytes) {
    c ^= byte;
    for (let i = 0; i < 8; i++) c = c & 1 ? (c >>> 1) ^ 0xedb88320 : c >>> 1;
  }
  return (c ^ 0xffffffff) >>> 0;
}
