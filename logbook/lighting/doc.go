// Package lighting reads what was measured of lights, and what readings teach of lamps, gels
// and meters.
//
// A Reading is one record with its colour, its meter's floor and what it is of. Readings
// that were struck out or superseded do not count. Pairs of readings teach: the same lamp on
// two dial positions, the same light with and without a gel, two meters on one light.
//
// A Course says which reading speaks of a light at a moment: the last one in the state in which
// the light then was. The state is what people typed on the light and what readings say of it;
// a lamp that reads differently without either was changed by somebody who did not say so.
//
// Everything is worked out from the book at each call; nothing is stored. A Memo keeps the
// readings of set-ups within one call.
//
// Reading the source: typed and spectrum read what was typed; reading, reading_color; instant,
// history, sky, state and course for time; learnt and its kin for lamps, gels and meters; light,
// family, gel and take are what others ask of records.
package lighting
