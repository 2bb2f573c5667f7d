// Package colour is the command evenwhite colour: a question about the colour of
// light, answered without a log.
//
// Reading the source: manual.go is the manual page; colour.go holds the table of
// questions and reads the command line; questions.go (cct, mired), light.go (xy, mix,
// aim), cast.go, gel.go and spectrum.go (spectrum, ssi) answer. number.go keeps what
// half a unit of the last typed digit leaves open, and shows no digit that is finer.
package colour
