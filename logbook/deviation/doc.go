// Package deviation finds what is off in a set-up: settings off their aim, lights off the
// reference, drifts, old readings, what is missing.
//
// A Finder looks at one set-up and makes sightings, one comparison each. Those of one cause
// are joined into one Deviation, whatever the number of takes and whites, the worst of them
// speaking: a headline with the takes, what to do, a sentence with all numbers. Charts, tests
// and false starts are no takes. An acceptance of the same cause, in whose scope and under
// whose ceiling it lies, marks it as deliberate; it stays in the list, last. It holds for
// whites that cannot be told apart from its own.
//
// Reading the source: deviation, finding, joined and headline are the frame, accept a person's
// word; camera (with verdict and todo), card, match, light, leaving, mix, white, missing,
// unsaid, gap, impossible (with timecode) and reference each find one sort of thing.
//
// A verdict is taken on values rounded to the step that is shown. Where something of a camera is
// not known it is taken on each white that it may have: beyond by some of them is no finding but
// that it can't be told, said once. Deviation imports neither advice nor slate.
package deviation
