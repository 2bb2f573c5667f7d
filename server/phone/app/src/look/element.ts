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
}
