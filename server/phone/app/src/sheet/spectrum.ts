// A file with a spectrum: a table of two columns is read here, every other form by the server.
import { parse, type Value } from "../capture";
import { day, digits, type Digits } from "../day";

/** Spectrum is what the record of a reading has of it. */
export interface Spectrum { readonly wavelengthsNm: readonly Value[]; readonly values: readonly Value[] }

/** spectrumOf reads a table of two columns: wavelength in nm, and power. */
export function spectrumOf(text: string): Spectrum | undefined {
  const wavelengthsNm: Digits[] = [], values: Digits[] = [];
  for (const line of text.split(/\r?\n/)) {
    const [nm, power, ...more] = line.trim().split(/[\s;\t]+|,(?=\s*[-\d.])/).filter((part) => part !== "");
    if (more.length > 0 || !/^\d+(\.\d+)?$/.test(nm ?? "") || !/^-?\d*\.?\d+(e[-+]?\d+)?$/i.test(power ?? "")) continue;
    wavelengthsNm.push(digits(nm!));
    values.push(digits(Number(power).toFixed(9)));
  }
  return wavelengthsNm.length >= 5 ? { wavelengthsNm, values } : undefined;
}

/** formOf is what a file is sent as: the server tells its form by what stands in it. */
function formOf(text: string): string {
  const begins = text.trimStart()[0];
  return begins === "<" ? "application/xml" : begins === "{" ? "application/json" : "text/plain";
}

/** spectrumThere has the server read it; its numbers keep the digits that it says. It throws Refused or Unreachable. */
export async function spectrumThere(text: string): Promise<Spectrum> {
  const answer = await day.askServer("POST", `/v1/productions/${day.here.production}/spectra`, text, formOf(text));
  const { measured } = parse(await answer.text()) as { measured: { [name: string]: Value } };
  return measured as unknown as Spectrum;
}
