// Why something could not be kept.

export type StoreTrouble = "full" | "denied" | "newer" | "otherTab" | "looksOnly" | "failed";

/** A StoreFault says why nothing was stored. Nothing of before is lost. */
export class StoreFault extends Error {
  constructor(readonly trouble: StoreTrouble, cause?: unknown) {
    super(`the phone's storage: ${trouble}${cause instanceof Error ? `: ${cause.message}` : ""}`, { cause });
  }
}

export function faultOf(e: unknown): StoreFault {
  if (e instanceof StoreFault) return e;
  const name = e instanceof DOMException ? e.name : "";
  switch (name) {
    case "QuotaExceededError": return new StoreFault("full", e);
    case "SecurityError": case "InvalidStateError": case "NotAllowedError": return new StoreFault("denied", e);
    case "VersionError": return new StoreFault("newer", e);
  }
  return new StoreFault("failed", e);
}
