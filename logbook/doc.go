// Package logbook is the log of a production: records made of edits, the merge of edits
// that several devices made apart, and a log that ties it to a store.
//
// It knows no kind of record, no light and no camera: the rules that say which edits are
// valid are handed in, and what follows from the records is other rooms' work.
//
// The package is pure: clocks, ids and chance are arguments, nothing here reads a file or
// a socket. The same code judges and merges on the server and on the phone, which is why
// two devices that hold the same edits never disagree.
//
// Reading the source, a noun a file:
//
//   - The words: id (lines and dots too), value (scanner and decimal read it), edit. codec
//     is the one byte form of an edit, readable the one for people; field_error says what
//     is wrong with a field.
//   - The merge: book merges, view reads what was merged (view_find finds it, view_field tells of
//     a field, view_value the values alone), draft is a change to it, ranges are what is held.
//   - The log: store says what a store promises and memory is the reference store; log ties
//     a store and a book together, signal wakes who waits.
package logbook
