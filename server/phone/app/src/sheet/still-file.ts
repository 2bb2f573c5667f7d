// What a still is, by its first bytes: how large its picture is, and whether a browser hands out all of its bits.

/** Still is a picture that somebody chose. */
export interface Still {
  file: File;
  width: number;
  height: number;
  /** picture is there where this browser can show it. */
  picture: ImageBitmap | undefined;
  /** there says what it is where the server has to read it: a browser decodes no TIFF, or to 8 bits, and a PNG of 16 bits to 8. */
  there: "png16" | "tiff" | undefined;
}

interface Head { there: "png16" | "tiff"; width: number; height: number }

const part = async (file: File, from: number, bytes: number) => new DataView(await file.slice(from, from + bytes).arrayBuffer());

/** stillOf is undefined where neither this browser nor the server reads the file. */
export async function stillOf(file: File): Promise<Still | undefined> {
  const head = await headOf(file).catch(() => undefined); // cut off, or gone from the phone meanwhile
  const picture = await createImageBitmap(file, { colorSpaceConversion: "none" }).catch(() => undefined);
  const size = picture ?? head;
  return size && { file, width: size.width, height: size.height, picture, there: head?.there };
}

/** headOf is what the server has to read; undefined for all else. */
async function headOf(file: File): Promise<Head | undefined> {
  const head = await part(file, 0, 26), mark = head.getUint32(0), little = mark === 0x49492a00;
  if (mark === 0x89504e47 && head.getUint32(4) === 0x0d0a1a0a) {
    return head.getUint8(24) === 16 ? { there: "png16", width: head.getUint32(16), height: head.getUint32(20) } : undefined;
  }
  if (!little && mark !== 0x4d4d002a) return undefined;
  const at = head.getUint32(4, little), tags = (await part(file, at, 2)).getUint16(0, little);
  const table = await part(file, at + 2, 12 * tags);
  const numberOf = (tag: number): number => { // of 16 or of 32 bits
    for (let i = 0; i < 12 * tags; i += 12) {
      if (table.getUint16(i, little) === tag) return table[table.getUint16(i + 2, little) === 3 ? "getUint16" : "getUint32"](i + 8, little);
    }
    return 0;
  };
  const width = numberOf(256), height = numberOf(257);
  return width > 0 && height > 0 ? { there: "tiff", width, height } : undefined;
}
