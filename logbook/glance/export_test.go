package glance

import "evenwhite/logbook/setup"

// What the tests outside the package see of its inside.

const RingCorners = ringCorners

var WhitesApart = whitesApart

// LeansOf are what a summarizer gathered since the set-up before.
func LeansOf(r *Summarizer) setup.Leans { return r.reader.Leans() }
