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

/** What was pressed last in each screen that lies under others, by how deep it lies: closing what it opened gives focus back to it. */
const pressed = new Map<number, { screen: string; words: string }>();

const depth = (): number => (history.state as { depth?: number } | null)?.depth ?? 0;

const wordsOf = (e: HTMLElement): string => (e.getAttribute("aria-label") ?? e.textContent).replace(/\s+/g, " ").trim();

/** Screen is a place or a sheet: opening it puts focus on its title, coming back to it on what was pressed there. */
export class Screen extends Plain {
  constructor() {
    super();
    this.addEventListener("click", (e) => {
      const on = (e.target as Element).closest("button");
      if (on) pressed.set(depth(), { screen: this.localName, words: wordsOf(on) });
    }, { capture: true });
    this.addEventListener("focusin", (e) => { this.#on = e.target as HTMLElement; });
  }

  /** #on is what had focus here last. */
  #on: HTMLElement | undefined;
  readonly #lost = new MutationObserver(() => this.#keepFocus());

  override connectedCallback(): void {
    super.connectedCallback();
    this.#lost.observe(this, { childList: true, subtree: true, attributeFilter: ["hidden"] });
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#lost.disconnect();
  }

  /** #keepFocus puts focus on the title where what had it was pressed and is gone: Tab goes on from there, and it is heard where one is. */
  #keepFocus(): void {
    const on = this.#on;
    if (!on || document.activeElement !== document.body) return;
    const stays = on.isConnected && on.checkVisibility();
    (stays ? on : this.#title)?.focus({ preventScroll: true });
  }

  get #title(): HTMLElement | null {
    const title = this.querySelector<HTMLElement>("h1");
    title?.setAttribute("tabindex", "-1");
    return title;
  }

  protected override firstUpdated(): void {
    const at = depth(), before = pressed.get(at);
    for (const deeper of [...pressed.keys()].filter((d) => d > at)) pressed.delete(deeper);
    const title = this.#title;
    title?.focus({ preventScroll: true });
    if (before?.screen === this.localName) this.#giveBack(before.words, title);
  }

  /** #giveBack puts focus on the button of these words once it is drawn, unless somebody went on meanwhile. */
  #giveBack(words: string, title: HTMLElement | null): void {
    const look = (): void => {
      const on = document.activeElement, free = on === title || on === document.body;
      const button = free ? [...this.querySelectorAll("button")].find((b) => wordsOf(b) === words) : undefined;
      button?.focus();
      if (button || !free || !this.isConnected) drawn.disconnect();
    };
    const drawn = new MutationObserver(look);
    drawn.observe(this, { childList: true, subtree: true });
    look();
  }

  /**
   * What fills from below is shown from its lower end, where the thumb is, until somebody scrolls it; what has focus by keys stays in
   * sight.
   */
  protected override updated(): void {
    const low = this.querySelector<HTMLElement>("main.low");
    if (!low || low.dataset["scrolled"]) return;
    low.scrollTop = low.scrollHeight;
    low.querySelector(":focus-visible:not(h1)")?.scrollIntoView({ block: "nearest" });
    low.addEventListener("wheel", scrolled, { once: true, passive: true });
    low.addEventListener("touchmove", scrolled, { once: true, passive: true });
  }
}

function scrolled(e: Event): void {
  (e.currentTarget as HTMLElement).dataset["scrolled"] = "yes";
}
