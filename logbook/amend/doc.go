// Package amend makes the drafts of what a person changes by hand: a patched record, a field
// set back, a record brought back, an answer about twins, a refused edit corrected or
// discarded. It also lists what people must settle: conflicts, twins, the quarantine.
//
// An object as REST sends it is walked by the table of kinds; every number in it stays as it
// was typed. Drafts are made over the heads that the caller has seen, and stored by a log.
package amend
