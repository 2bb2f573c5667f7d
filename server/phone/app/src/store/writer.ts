// One tab writes: whoever holds the lock. The others read, and become the writer when it is free.

const name = "evenwhite-writer";

/** Seat says whether this tab may write, and calls back when it may from now on. */
export class Seat {
  writes = false;

  /** take resolves once it is known whether this tab writes. */
  async take(onFree: () => void): Promise<void> {
    if (!("locks" in navigator)) {
      this.writes = true; // one that has none has no second tab of an installed app either
      return;
    }
    await new Promise<void>((known) => {
      void navigator.locks.request(name, { ifAvailable: true }, (lock) => {
        if (lock) this.writes = true;
        known();
        return lock ? new Promise(() => {}) : undefined; // held until the tab ends
      });
    });
    if (this.writes) return;
    void navigator.locks.request(name, () => {
      this.writes = true;
      onFree();
      return new Promise(() => {});
    });
  }
}
