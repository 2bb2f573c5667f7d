// Every place, and every sheet that the invented production has something for, by keyboard alone: opened, used and closed.
import { Buffer } from "node:buffer";

// A grey card, of 16 by 16 pixels.
const still = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAABAAAAAQCAIAAACQkWg2AAAAFElEQVR42mPoIREwjGoY1TB8NQAASL2kELuVu9EAAAAASUVORK5CYII=",
  "base64");

/** byKeys goes about in a set-up with two cameras and a light, of a day on which an entry was refused. open goes to an address. */
export async function byKeys(page, k, { open, setUp }) {
  const { opens, sheet, does, gone, tab, press, closes } = k;
  const type = (text) => page.keyboard.type(text);

  await open(`now?setUp=${setUp}`, "ew-now .cam");
  await opens("Other", "other");
  await sheet("Set-up", "setup", ".note", () => sheet("White", "white", ".note", async () => {
    await does("A nominal white", "ew-white ew-pad");
    await type("5600");
    await does("Back", "ew-white .note");
  }));
  await does("New card", "ew-other .acts.even");
  await does("B", "ew-now ew-undo b");
  await gone("other");
  await opens("Other", "other");
  await opens("Note", "note", "textarea");
  await tab("What is to be known");
  await type("by keys");
  await does("Save", "ew-now ew-undo b");
  await gone("note", "other");

  await opens("Measure", "measure", ".pad");
  await type("56000.0010900");
  await press("Enter"); // no button has focus: then it is for the first act
  await gone("measure");
  await opens("Measure", "measure", ".pad");
  await sheet("Grey card", "card", ".pad", async () => {
    const asked = page.waitForEvent("filechooser");
    if (!await tab("From a still")) return;
    await press("Enter");
    await (await asked).setFiles({ name: "card.png", mimeType: "image/png", buffer: still });
    await does("Smaller", "ew-card canvas");
    await does("Read", "ew-still [role=alert]"); // its camera writes a log that nobody published
    await does("Back", "ew-card .pad");
  });
  await closes();

  await opens("B ", "camera", ".far");
  await does("Why", "ew-camera .panel");
  await sheet("it is at", "dialled", ".pad");
  await sheet("B body: another body", "swap");
  await closes();

  await opens("Lights", "lights", ".light");
  await sheet("Picture", "picture", ".pic svg");
  await sheet("Add light", "light", "ew-field input");

  await opens("Takes", "takes", ".take");
  await sheet("Find", "find", "input", async () => {
    await tab("Clip");
    await type("a001");
    await press("Escape"); // empties it
  });
  await does("Take 1", "ew-takes .take[aria-pressed=true]");
  await sheet("Change", "take", "[aria-label='History of the take']", () => sheet("History of the take", "record", ".panel"));

  await opens("Settle", "settle", "h1");
  await does("Can't tell", "ew-choose .find.on");
  await sheet("Correct", "correct", "ew-field input");
  await does("Discard", "ew-settle ew-undo b");
  await does("Off", "ew-off .find");
  await sheet("Why", "why", ".facts");
  await opens("Accept", "accept", ".hand .two button");
  await does(await page.locator(".hand .two button").first().innerText(), "ew-off ew-undo b");
  await gone("accept");

  await opens("Not paired", "handover", "h1");
  await sheet("Pair", "pair", ".code");
  await sheet("Prep", "prep", ".note", async () => {
    await does("Bodies", "ew-prep .note");
    await does("B body", "ew-prep ew-record-form .input");
    await press("Escape");
  });
}
