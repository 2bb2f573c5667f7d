// Package advice says what to do: how to bring the lamps of a set-up to its white, what to
// set on one camera so that it matches another, and what to do to the footage of a clip.
//
// Each question takes a book, what it is about and a moment. Its answer says from which
// records it comes, by which method, and how sure it is; where it rests on a label alone it
// says so, and it never claims a match that no second card showed.
//
// The arithmetic (searching rigs, dials and corrections) is colorimetry's; readings, whites
// and cards are chosen by setup. Advice imports neither deviation nor slate.
package advice
