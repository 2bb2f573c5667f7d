// Package comparison says what changed between two states of a colour log: which cells of which rows,
// by whose edits, and why where somebody said it.
//
// The rows of the earlier state are put on a shelf, packed, before the later ones are made: so that no
// more than one book beside the live one is held at a time.
//
// Reading the source: compare.go walks the rows, cause.go finds the edits behind a cell, shelf.go keeps rows.
package comparison
