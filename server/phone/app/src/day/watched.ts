import type { ReactiveController, ReactiveControllerHost } from "lit";
import { day } from "./day";

/** Watched draws its element anew whenever day changed: what is open, where the data is, what must be said. */
export class Watched implements ReactiveController {
  readonly #host: ReactiveControllerHost;
  readonly #again = () => this.#host.requestUpdate();

  constructor(host: ReactiveControllerHost) {
    this.#host = host;
    host.addController(this);
  }

  hostConnected() { day.addEventListener("change", this.#again); }

  hostDisconnected() { day.removeEventListener("change", this.#again); }
}
