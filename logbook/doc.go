// Package logbook is the log of a production: records made of edits, the merge
// of edits that several devices made apart, and what follows from the records
// (deviations, matches, plans).
//
// The package is pure: clocks, ids and chance are arguments, nothing here reads
// a file or a socket. The same code judges and merges on the server and on the
// phone, which is why two devices that hold the same edits never disagree.
//
// Reading the source: id.go, value.go and edit.go are the words; codec.go is the
// one byte form of an edit; spec.go and kinds_*.go are the table of record kinds,
// judge.go applies it to an edit; book.go merges; view.go reads what was merged;
// store.go says what a store promises and memory.go is the reference store;
// log.go ties a store, a book and the exchange between devices together.
package logbook
