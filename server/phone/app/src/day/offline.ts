// Whether the app itself is kept on this phone, a new version of it, and whether the browser keeps
// what is stored here.

export class Offline {
  /** works says that the app opens without a server. */
  works = false;
  /** kept says whether the browser promised to clear nothing; undefined while it was not asked. */
  kept: boolean | undefined;
  #waiting: ServiceWorker | undefined;
  readonly #changed: () => void;

  constructor(changed: () => void) { this.#changed = changed; }

  /** newVersion says that a newer version of the app is here and waits to be taken. */
  get newVersion() { return this.#waiting !== undefined; }

  async start() {
    this.kept = await navigator.storage?.persisted?.();
    if (!("serviceWorker" in navigator)) return;
    const at = new URL("./sw.js", document.baseURI);
    const registration = await navigator.serviceWorker.register(at, { scope: "./", updateViaCache: "none" }).catch(() => undefined);
    if (!registration) return;
    const look = () => {
      if (registration.waiting && navigator.serviceWorker.controller) this.#waiting = registration.waiting;
      this.works = registration.active !== null;
      this.#changed();
    };
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void registration.update().catch(() => {}); // there is no server, mostly
    });
    registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", look));
    registration.active?.addEventListener("statechange", look);
    look();
    await navigator.serviceWorker.ready;
    look();
  }

  /** take loads the new version. */
  take() {
    const waiting = this.#waiting;
    if (!waiting) return;
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    waiting.postMessage("take");
  }

  /** ask asks the browser to clear nothing of this page by itself. */
  async ask() {
    this.kept = await navigator.storage?.persist?.().catch(() => false);
    this.#changed();
  }
}
