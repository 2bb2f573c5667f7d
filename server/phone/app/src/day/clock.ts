// The device's own clock, and what puts it right: the clocks of phones are wrong on sets by hours.

export class Clock {
  /** offsetMs is what the last answer of a service taught: its clock less this one's. */
  offsetMs = 0;

  /** own is what this device's clock says. */
  own() { return Date.now(); }

  /** now is the time, put right. */
  now() { return this.own() + this.offsetMs; }
}
