// The server, asked as this phone: each request carries a proof, and a token that is renewed by one.
import type { Store } from "../store";
import { Key } from "./key";

/** Refused is an answer of the server that says no, by the word of its problem. */
export class Refused extends Error {
  constructor(readonly status: number, readonly type: string, detail: string, readonly after: number) { super(detail); }
}

/** Unreachable says that the server did not answer. */
export class Unreachable extends Error {}

/** within gives up what takes longer, and says that the server did not answer. */
export async function within<T>(ms: number, what: (signal: AbortSignal) => Promise<T>): Promise<T> {
  const over = new AbortController(), timer = setTimeout(() => over.abort(), ms);
  try {
    return await what(over.signal);
  } catch (e) {
    throw over.signal.aborted ? new Unreachable("it did not answer in time") : e;
  } finally {
    clearTimeout(timer);
  }
}

/** What pairing, and each new token, says of this phone. */
export interface Admission {
  device: string;
  role: string;
  productions: string[];
  token: string;
  tokenType: "DPoP" | "Bearer";
  expiresAt: string;
  claims?: string;
}

export interface Asking {
  body?: BodyInit;
  headers?: Record<string, string>;
  signal?: AbortSignal;
  /** open says that everybody may ask this: it carries a proof and no token. */
  open?: boolean;
}

const settingName = "admission";

/** What an answer of 401 says that the device does next: these ask for a new token. */
const renewing = new Set(["expired", "bad-token"]);

export class Server {
  readonly #store: Store;
  readonly #now: () => number;
  #key: Key | undefined;
  #nonce: string | undefined;
  #renewal: Promise<void> | undefined;
  admission: Admission | undefined;
  /** former is the id that this phone had at a server that does not know it now; it is claimed at pairing. */
  #former: string | undefined;
  /** unsent is told with each new token: how many edits no server has. */
  unsent: () => number = () => 0;

  constructor(store: Store, now: () => number) {
    this.#store = store;
    this.#now = now;
  }

  async open() { this.admission = await this.#store.setting<Admission>(settingName); }

  async admit(admission: Admission) {
    await this.#store.keepSetting(settingName, admission);
    this.admission = admission;
  }

  /** forget notes that the server does not know this phone. */
  forget() {
    this.#former = this.admission?.device ?? this.#former;
    this.admission = undefined;
  }

  /** ask asks once more where the answer was only that the nonce is old, or that the token ran out. */
  async ask(method: string, path: string, asking: Asking = {}): Promise<Response> {
    for (let tries = 0; ; tries++) {
      const answer = await this.#once(method, path, asking);
      if (answer.ok) return answer;
      const refused = await refusedOf(answer);
      if (refused.status !== 401 || tries > 2) throw refused;
      if (refused.type === "nonce") continue;
      if (!renewing.has(refused.type) || asking.open) throw refused;
      await this.#renew();
    }
  }

  async #once(method: string, path: string, { body, headers, signal, open }: Asking): Promise<Response> {
    const url = new URL(path, location.origin);
    this.#key ??= await Key.of(this.#store);
    const token = open ? undefined : this.admission?.token;
    const proof = await this.#key.proof(method, url.origin + url.pathname, token, this.#nonce, this.#now());
    try {
      const answer = await fetch(url, {
        method, cache: "no-store", credentials: "omit", ...(body !== undefined && { body }), ...(signal && { signal }),
        headers: { ...headers, DPoP: proof, ...(token && { Authorization: `DPoP ${token}` }) },
      });
      this.#nonce = answer.headers.get("DPoP-Nonce") ?? this.#nonce;
      return answer;
    } catch (e) {
      throw new Unreachable(e instanceof Error ? e.message : String(e));
    }
  }

  /** #renew gets the next token, by the key alone: however long the phone was away. */
  async #renew() {
    this.#renewal ??= (async () => {
      const answer = await this.ask("POST", "/v1/token", {
        open: true, headers: { "Content-Type": "application/json" }, body: JSON.stringify({ unsent: this.unsent() }),
      });
      await this.admit(await answer.json() as Admission);
    })().finally(() => { this.#renewal = undefined; });
    await this.#renewal;
  }

  /** pair lets this phone in by a code or the secret that was scanned. */
  async pair(code: string, label: string): Promise<Admission> {
    const before = this.admission?.device ?? this.#former;
    const answer = await this.ask("POST", "/v1/pairing", {
      open: true, headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ code, ...(label && { label }), ...(before && { claims: { device: before } }) }),
    }).catch((e: unknown) => {
      // The id was admitted here already: the key alone says who this is.
      if (e instanceof Refused && e.status === 409 && before) return undefined;
      throw e;
    });
    const again = answer ?? await this.ask("POST", "/v1/pairing", {
      open: true, headers: { "Content-Type": "application/json" }, body: JSON.stringify({ code, ...(label && { label }) }),
    });
    const admission = await again.json() as Admission;
    await this.admit(admission);
    return admission;
  }
}

async function refusedOf(answer: Response): Promise<Refused> {
  const problem = await answer.json().catch(() => ({})) as { type?: string; title?: string; detail?: string };
  const after = Number(answer.headers.get("Retry-After")) || 0;
  const type = problem.type?.split(/[/:#]/).at(-1) ?? "";
  return new Refused(answer.status, type, problem.detail ?? problem.title ?? `the answer was ${answer.status}`, after);
}
