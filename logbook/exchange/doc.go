// Package exchange is both sides of the exchange of edits: a Peer that has a log, and a
// Replica on a device that has none.
//
// A device sends what it brings, the place up to which it has everything, and the run of the peer
// that it last heard. The answer says what became of each edit and brings what comes after
// the place. It travels readable or in rows, which leave out what the receiver can look up; a
// chain over the canonical bytes shows whether the same came out. Bundles carry edits as a
// file. Repeating an exchange, or losing its answer, does no harm.
//
// The exchange knows no kind of record: it imports the engine alone.
package exchange
