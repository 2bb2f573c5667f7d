// The key of this phone: drawn here, never shown, and kept by the browser so that nobody reads it.
import type { Store } from "../store";

const curve = { name: "ECDSA", namedCurve: "P-256" } as const;
const settingName = "key";

export const base64url = (bytes: Uint8Array) => btoa(Array.from(bytes, (n) => String.fromCharCode(n)).join(""))
  .replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

const utf8 = new TextEncoder();

export class Key {
  readonly #pair: CryptoKeyPair;
  readonly #jwk: object;

  private constructor(pair: CryptoKeyPair, jwk: object) {
    this.#pair = pair;
    this.#jwk = jwk;
  }

  /** of is the key that the store keeps; it is drawn at the first time. */
  static async of(store: Store): Promise<Key> {
    let pair = await store.setting<CryptoKeyPair>(settingName);
    if (!pair) {
      pair = await crypto.subtle.generateKey(curve, false, ["sign", "verify"]);
      await store.keepSetting(settingName, pair);
    }
    const { kty, crv, x, y } = await crypto.subtle.exportKey("jwk", pair.publicKey);
    return new Key(pair, { kty, crv, x, y });
  }

  /** proof shows that a request comes from the holder of the key (RFC 9449). */
  async proof(method: string, url: string, token: string | undefined, nonce: string | undefined, at: number): Promise<string> {
    const head = { typ: "dpop+jwt", alg: "ES256", jwk: this.#jwk };
    const claims = {
      jti: base64url(crypto.getRandomValues(new Uint8Array(16))), htm: method, htu: url, iat: Math.floor(at / 1000), nonce,
      ath: token && base64url(new Uint8Array(await crypto.subtle.digest("SHA-256", utf8.encode(token)))),
    };
    const said = [head, claims].map((part) => base64url(utf8.encode(JSON.stringify(part)))).join(".");
    const signature = await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, this.#pair.privateKey, utf8.encode(said));
    return `${said}.${base64url(new Uint8Array(signature))}`;
  }
}
