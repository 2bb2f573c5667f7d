// Where the app opens: where it was, if that is less than ten minutes ago, else where its holder
// mostly is. public/theme.js reads both before the first paint.

export const starts = ["takes", "camera", "lights", "look"] as const;
export type Start = (typeof starts)[number];

const startKey = "evenwhite-start", lastKey = "evenwhite-last";

/** startOf is what somebody mostly does on this set. */
export function startOf(): Start {
  const said = localStorage.getItem(startKey)?.split(" ")[0];
  return starts.find((s) => s === said) ?? "takes";
}

/** keepStart notes it with the address at which the app opens; of whom runs a camera that of the camera. */
export function keepStart(start: Start, camera?: string): void {
  const at = start === "lights" ? "#lights" : start === "camera" && camera ? `#now/camera?camera=${camera}` : "#now";
  localStorage.setItem(startKey, `${start} ${at}`);
}

addEventListener("visibilitychange", () => {
  if (document.visibilityState === "hidden") localStorage.setItem(lastKey, `${Date.now()} ${location.hash}`);
});

export type Theme = "dark" | "bright" | "night";
export type Hand = "right" | "left";

/** look reads and keeps how the app looks: the theme and the hand. */
export const look = {
  theme: (): Theme => (document.documentElement.dataset["theme"] ?? "dark") as Theme,
  hand: (): Hand => (document.documentElement.dataset["hand"] ?? "right") as Hand,
  keep(name: "theme" | "hand", value: string): void {
    document.documentElement.dataset[name] = value;
    localStorage.setItem(`evenwhite-${name}`, value);
  },
};
