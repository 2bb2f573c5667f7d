// The app's own words, in one place, so that a second language needs no other. Sentences with
// numbers are the engine's.
import type { Notice, Place, StatusState } from "./day";

export const words = {
  places: { now: "Now", lights: "Lights", takes: "Takes", settle: "Settle", handover: "Hand over" } satisfies Record<Place, string>,
  placesLabel: "Places",
  day: "Day",
  screen: {
    coming: "This screen is being loaded.", missing: "This is not in this version of the app.",
    failed: "This screen could not be loaded. Nothing is lost: load the app again once a server or a network is there.",
  },
  loadAgain: "Load again",
  back: "Back",
  status: {
    revoked: "Phone revoked", unpaired: "Not paired", notSetUp: "Not set up for offline", old: "on this phone", here: "on this phone",
    sent: "All sent", since: "not reachable since",
  } satisfies Record<StatusState | "since", string>,
  notices: {
    olderDays: "Older days are still being read; learnt values may move.",
    otherTab: "The app is open in another tab, which writes. This one shows, and takes over when that is closed.",
    newerStore: "A newer version of the app was here. This one only shows what it can read: nothing is lost. Load the newer one.",
    storeFull: "This phone's storage is full: the last entry was not kept. All before it is. Make room, and enter it again.",
    storeDenied: "This browser lets the app keep nothing: nothing can be logged here. " +
      "Open the app again; if it stays so, allow storage for this page, or use another browser.",
    storeFailed: "The last entry could not be kept. All before it is. Enter it again; if it stays so, save the production as a file.",
    storeLost: "This browser lost all that the app kept here: it was ended while it wrote. What was sent is on the server: pair this " +
      "phone again, and look through what was logged last.",
    storeHeld: "Another tab has an older version of this app open, and this one cannot start beside it: close that tab. Nothing is lost.",
    engineGone: "Colours cannot be computed: the engine does not run. Logging goes on and nothing is lost.",
    invented: "Invented production: all stays on this phone.",
    newVersion: "A new version is here.",
    notMade: "Something that was pressed could not be logged. It is kept: look at it under Settle.",
    looksOnly: "This phone may look. The owner can change that.",
    removedThere: "An owner removed this production from the server. This phone keeps it and sends nothing more.",
    setAside: "An entry is too large or unreadable for the server. It stays on this phone: save it as a file.",
  } satisfies Record<Notice, string>,
};

export * from "./words/places";
export * from "./words/logging";

export const upper = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

const two = (n: number): string => String(n).padStart(2, "0");

/** clock is a time as people on set say it. */
export const clock = (at: string | number | Date): string => {
  const t = new Date(at);
  return `${two(t.getHours())}:${two(t.getMinutes())}`;
};

/** date is a day as people on set write it: 2031-03-04. */
export const date = (at: string | number | Date): string => {
  const t = new Date(at);
  return `${t.getFullYear()}-${two(t.getMonth() + 1)}-${two(t.getDate())}`;
};

/** offWords says how one thing lies from another: a bare number with warmer or cooler is mired, with greener or magenta Duv. */
export const offWords = (d: { mired?: number | undefined; duv?: number | undefined }): string => [
  d.mired ? `${Math.abs(d.mired)} ${d.mired > 0 ? "warmer" : "cooler"}` : "",
  d.duv ? `${Math.abs(d.duv).toFixed(4)} ${d.duv > 0 ? "greener" : "more magenta"}` : "",
].filter(Boolean).join(", ");
