// Package logbook is the log of a production: records made of edits, the merge
// of edits that several devices made apart, and what follows from the records
// (deviations, matches, plans).
//
// The package is pure: clocks, ids and chance are arguments, nothing here reads
// a file or a socket. The same code judges and merges on the server and on the
// phone, which is why two devices that hold the same edits never disagree.
//
// Reading the source, a noun a file, families of files by their first word:
//
//   - The words: id, value (scanner and decimal read it), edit; codec is the one
//     byte form of an edit, readable the one for people.
//   - What is taken: spec and kinds are the table of record kinds, ranges and words
//     say what may stand in a field, judge applies the table to an edit, patch to what
//     somebody types; quarantine keeps what made no sense.
//   - The merge: book merges, view reads what was merged, conflict and twin list
//     what needs a person, undo sets back what one edit replaced.
//   - The log: store says what a store promises and memory is the reference store;
//     log ties a store, a book and the exchange between devices together, signal wakes
//     who waits.
//   - The exchange: exchange and cursor; replica is a device's side of it; rows are its
//     packed form, passage and carry its pieces written once for all; bundle is a file of
//     edits, missing what is known of and not here.
//   - Takes: take and its event; clipname counts clips on; shortname is for files.
//   - Colour in, read from records: measured and reading, spectrum, sample and still,
//     setting and tint, and shown, which keeps to the digits that these carry.
//   - Colour out: white and aim; camera is what cards taught of a body, learnt what
//     readings taught of lamps, gels and meters; mix, drift and plan; match sets a
//     second camera; correction is for post; now is a set-up at a glance.
//   - What is off: limits, deviation, and accept, a person's word on one.
//   - To look at: plane, swatch and drift, drawn by the folder picture.
package logbook
