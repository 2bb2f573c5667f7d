import type { ReactiveController, ReactiveControllerHost } from "lit";
import { EngineFault, EngineGone, type Answer } from "../engine";
import { answerOf, textOf } from "../engine/message";
import type { Book } from "../engine/book";
import type { Clock } from "./clock";
import type { Store } from "../store";

interface Desk { book: Book; clock: Clock; store: Store }

/** sources is what all questions are asked of; day says it once. */
export const sources: { desk?: Desk } = {};

/** Answers that were given in this start, by production and question. */
const given = new Map<string, { value: unknown; bytes: Uint8Array | undefined; text: string }>();

/** What the engine is being asked, by question and state of the book: two elements that ask the same share one answer. */
const asking = new Map<string, Promise<Answer>>();

function answered({ book, clock }: Desk, name: string, key: string, message: object): Promise<Answer> {
  const asked = `${book.edition} ${key}`;
  const answer = asking.get(asked) ?? book.ask(name, { ...message, now: clock.now() }).finally(() => asking.delete(asked));
  asking.set(asked, answer);
  return answer;
}

/**
 * A question of an element, asked again whenever the answer may have moved. It is undefined while there is no
 * answer at all; then the one that was stored (asOf says when), then the engine's.
 */
export class Asked<T> implements ReactiveController {
  value: T | undefined;
  /** asOf is when a stored answer was given that no engine has confirmed in this start. */
  asOf: Date | undefined;
  /** early says that older days are still being read, so that the answer may move. */
  early = false;
  /** fault is why there is no new answer; the last one stays. */
  fault: EngineFault | undefined;
  /** bytes are the picture, where the message says draw: true. */
  bytes: Uint8Array | undefined;

  readonly #host: ReactiveControllerHost;
  readonly #name: string;
  readonly #message: () => object | undefined;
  readonly #whole: boolean;
  #question = "";
  #edition = -1;
  #minute = 0;
  #turn = 0;
  readonly #again = () => this.#host.requestUpdate();

  /** whole says that an answer rests on all days: until they are read the stored one stays, and the screen of today does not wait. */
  constructor(host: ReactiveControllerHost, name: string, message: () => object | undefined, { whole = false } = {}) {
    this.#whole = whole;
    this.#host = host;
    this.#name = name;
    this.#message = message;
    host.addController(this);
  }

  /** svg is the picture as a text. */
  get svg() { return this.bytes && new TextDecoder().decode(this.bytes); }

  hostConnected() {
    sources.desk?.book.addEventListener("change", this.#again);
    this.#edition = -1;
    this.#minute = window.setInterval(() => { // ages of readings go on
      this.#edition = -1;
      this.#again();
    }, 60_000);
  }

  hostDisconnected() {
    sources.desk?.book.removeEventListener("change", this.#again);
    clearInterval(this.#minute);
    this.#turn++;
  }

  hostUpdate() {
    const desk = sources.desk;
    const message = this.#message();
    const production = desk?.book.production;
    if (!desk || !production || !message) {
      if (this.#question !== "") this.#forget("");
      return;
    }
    const question = `${this.#name} ${textOf(message)}`;
    const key = `${production} ${question}`;
    if (key === this.#question && this.#edition === desk.book.edition) return;
    if (key !== this.#question) this.#forget(key);
    this.#edition = desk.book.edition;
    void this.#ask(desk, production, question, message, ++this.#turn);
  }

  #forget(key: string) {
    this.#question = key;
    const before = given.get(key);
    this.value = before?.value as T | undefined;
    this.bytes = before?.bytes;
    this.asOf = this.fault = undefined;
    this.early = false;
    this.#turn++;
  }

  async #ask(desk: Desk, production: string, question: string, message: object, turn: number) {
    const key = `${production} ${question}`;
    if (this.value === undefined) {
      const row = await desk.store.answer(production, question).catch(() => undefined);
      if (turn !== this.#turn) return;
      if (row) {
        this.value = answerOf<T>(this.#name, row.text);
        this.bytes = row.bytes;
        this.asOf = new Date(row.at);
        this.#host.requestUpdate();
      }
    }
    if (this.#whole && desk.book.early) return; // it is asked again when they are
    try {
      const answer = await answered(desk, this.#name, key, message);
      if (turn !== this.#turn) return;
      const before = given.get(key);
      const same = before?.text === answer.text;
      this.value = same ? before.value as T : answerOf<T>(this.#name, answer.text);
      this.bytes = answer.bytes;
      this.asOf = this.fault = undefined;
      this.early = desk.book.early;
      given.set(key, { value: this.value, bytes: answer.bytes, text: answer.text });
      if (!this.early && !same && desk.store.mayWrite) {
        const bytes = answer.bytes && { bytes: answer.bytes };
        await desk.store.keepAnswer({ production, question, at: desk.clock.now(), text: answer.text, ...bytes })
          .catch(() => {}); // the next start then shows an older one
      }
    } catch (e) {
      if (turn !== this.#turn) return;
      if (e instanceof EngineFault && e.type !== "not-open") this.fault = e;
      else if (!(e instanceof EngineGone) && !(e instanceof EngineFault)) throw e;
    }
    this.#host.requestUpdate();
  }
}
