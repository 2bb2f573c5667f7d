// Where the data is: one state at a time, the first that holds. And what else must be said.

export type StatusState = "revoked" | "unpaired" | "notSetUp" | "old" | "here" | "sent";

/** The status line's one state. */
export interface Status {
  state: StatusState;
  /** count is how many edits are on this phone alone. */
  count: number;
  /** since is from when on the server did not answer. */
  since: Date | undefined;
  /** at is when everything was sent last. */
  at: Date | undefined;
}

/** What must be said beside it; each has its sentence in words.notices. */
export type Notice =
  | "olderDays" | "otherTab" | "newerStore" | "storeFull" | "storeDenied" | "storeFailed" | "storeLost" | "storeHeld" | "engineGone"
  | "invented" | "newVersion" | "notMade" | "looksOnly" | "removedThere" | "setAside";

/** How long an edit may lie on this phone alone before that is said: ten minutes. */
export const oldAfter = 600_000;
