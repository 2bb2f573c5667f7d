// Whether the app itself is kept on this phone, a new version of it, and whether the browser keeps
// what is stored here.

/** again is after how long it is tried once more where the app itself could not be kept. */
const again = 15_000;

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
    this.#changed();
    if (!("serviceWorker" in navigator)) return;
    const at = new URL("./sw.js", document.baseURI);
    const registration = await navigator.serviceWorker.register(at, { scope: "./", updateViaCache: "none" }).catch(() => undefined);
    if (!registration) {
      this.#startAgain();
      return;
    }
    const look = () => {
      if (registration.waiting && navigator.serviceWorker.controller) this.#waiting = registration.waiting;
      this.works = registration.active !== null;
      this.#changed();
    };
    const watch = (worker: ServiceWorker | null) => worker?.addEventListener("statechange", () => {
      look();
      if (worker.state === "redundant" && registration.active === null) this.#startAgain(); // a file of the app did not come
    });
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void registration.update().catch(() => {}); // there is no server, mostly
    });
    registration.addEventListener("updatefound", () => watch(registration.installing));
    for (const worker of [registration.installing, registration.waiting, registration.active]) watch(worker);
    look();
    await navigator.serviceWorker.ready;
    look();
  }

  #startAgain() { setTimeout(() => void this.start(), again); }

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
