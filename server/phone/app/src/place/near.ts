// Whether an element is near the screen: one observer for all of a kind, since a day has some twenty set-ups that are watched.
import type { PropertyDeclarations } from "lit";
import { Plain } from "../look";

type Tell = (near: boolean, height: number) => void;

export class Near {
  readonly #told = new WeakMap<Element, Tell>();
  readonly #near = new WeakSet<Element>();
  readonly #all: IntersectionObserver;

  /**
   * far is how many px off the screen an element is near: beyond the edge of what scrolls as well, so that Tab finds the next one.
   * It is told once it was near for so many frames: what only flies past, as when all is dragged through, is not made.
   */
  constructor(far: number, frames: number) {
    const margin = `${far}px 0px`;
    this.#all = new IntersectionObserver((seen) => {
      for (const { target, isIntersecting, boundingClientRect } of seen) {
        if (isIntersecting) {
          this.#near.add(target);
          this.#after(target, frames, boundingClientRect.height);
        } else {
          this.#near.delete(target);
          this.#told.get(target)?.(false, boundingClientRect.height);
        }
      }
    }, { rootMargin: margin, scrollMargin: margin });
  }

  #after(e: Element, frames: number, height: number): void {
    if (!this.#near.has(e)) return;
    if (frames > 0) requestAnimationFrame(() => this.#after(e, frames - 1, height));
    else this.#told.get(e)?.(true, height);
  }

  /** watch tells whether an element is near, and how high it is, now and whenever that changes. */
  watch(e: Element, tell: Tell): void {
    this.#told.set(e, tell);
    this.#all.observe(e);
  }

  unwatch(e: Element): void {
    this.#told.delete(e);
    this.#near.delete(e);
    this.#all.unobserve(e);
  }
}

/** NearPart is an element whose box stands in the page all the time, and what is in it while that is near the screen. */
export abstract class NearPart extends Plain {
  static override properties: PropertyDeclarations = { near: { state: true } };
  protected declare near: boolean;
  protected height = 0; // of the box, as it was drawn last

  constructor() {
    super();
    this.near = false;
  }

  protected abstract readonly by: Near;
  protected abstract get box(): HTMLElement | null;

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    if (this.box) this.by.unwatch(this.box);
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.observed();
  }

  protected override firstUpdated(): void { this.observed(); }

  private observed(): void {
    if (this.box) this.by.watch(this.box, (near, height) => {
      if (this.near && !near) this.height = height;
      this.near = near;
    });
  }
}
