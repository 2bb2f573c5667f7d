// Package review lists records and what became of them, as it is handed out: pages of
// records, histories, conflicts, twins, refused edits. A phone and the service give the same
// bytes.
//
// Nothing is decided here: what a conflict or a twin is, and what people do about it, says
// amend; which whites count beside one another, setup.
package review
