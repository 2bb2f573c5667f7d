import { LitElement } from "lit";

/** Plain draws into the page itself, so that one sheet holds for all and focus, find and access see one tree. */
export class Plain extends LitElement {
  protected override createRenderRoot(): HTMLElement {
    return this;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.classList.add("through");
  }

  /** tell lets what holds this element know that something happened. */
  protected tell<T>(name: string, detail: T): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true }));
  }
}

/** Screen is a place or a sheet: opening it puts focus on its title. */
export class Screen extends Plain {
  protected override firstUpdated(): void {
    const title = this.querySelector<HTMLElement>("h1");
    title?.setAttribute("tabindex", "-1");
    title?.focus({ preventScroll: true });
  }

  /** What fills from below is shown from its lower end, where the thumb is, until somebody scrolls it. */
  protected override updated(): void {
    const low = this.querySelector<HTMLElement>("main.low");
    if (!low || low.dataset["scrolled"]) return;
    low.scrollTop = low.scrollHeight;
    low.addEventListener("wheel", scrolled, { once: true, passive: true });
    low.addEventListener("touchmove", scrolled, { once: true, passive: true });
  }
}

function scrolled(e: Event): void {
  (e.currentTarget as HTMLElement).dataset["scrolled"] = "yes";
}
