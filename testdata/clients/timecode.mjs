// Counts frames with smpte-timecode. A line in is a rate, "drop" or "-", and a number of frames; a line out is
// the timecode after so many.
import { createInterface } from "node:readline";
import Timecode from "smpte-timecode";

const out = [];
for await (const line of createInterface({ input: process.stdin })) {
  const [rate, drop, frames] = line.split(" ");
  out.push(new Timecode(Number(frames), Number(rate), drop === "drop").toString());
}
console.log(out.join("\n"));
