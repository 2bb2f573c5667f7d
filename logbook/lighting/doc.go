// Package lighting reads what was measured of lights, and what readings teach of lamps, gels
// and meters.
//
// A Reading is one record with its colour, its meter's floor and what it is of. Readings
// that were struck out or superseded do not count. Pairs of readings teach: the same lamp on
// two dial positions, the same light with and without a gel, two meters on one light.
//
// Everything is worked out from the book at each call; nothing is stored. A Memo keeps the
// readings of set-ups within one call.
//
// Reading the source: typed and spectrum read what was typed; reading, reading_color; learnt and
// its kin for lamps, gels and meters; light, family, gel and take are what others ask of records.
package lighting
