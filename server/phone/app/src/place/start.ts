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

/** keepFinish notes that the takes are where this device opens: it finishes the picture. */
export const keepFinish = (): void => localStorage.setItem(startKey, "look #takes");

/** startPlace is the place at which the app opens. */
export const startPlace = (): "now" | "lights" | "takes" =>
  (["lights", "takes"] as const).find((p) => localStorage.getItem(startKey)?.split(" ")[1] === `#${p}`) ?? "now";

/** isMine takes the first camera that is looked at for one's own, where somebody runs one and did not say which. */
export function isMine(camera: string | undefined): void {
  if (camera && startOf() === "camera" && !localStorage.getItem(startKey)?.includes("camera=")) keepStart("camera", camera);
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
