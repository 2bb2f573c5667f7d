// Package etcd is the store of logbook on etcd: several processes, several machines.
//
// The layout, version 1. Every key begins with a prefix of the studio's own; numbers in keys have 16
// digits, in base 16; those in values are big-endian.
//
//	layout                        → "1"
//	heads/PRODUCTION              → identity (8) sequence (8) chain (8) changes (8) pages of clashes (8)
//	logs/PRODUCTION/IDENTITY/
//	  edits/FIRST SEQUENCE        → a page of edits
//	  dots/FIRST SEQUENCE         → bytes of that page (4), then of each edit: line (8) n (8) hash (16)
//	  clashes/NUMBER              → a page of edits that were kept aside as clashes
//	  aside/DEVICE                → for each edit that the device may not put into the log: left (1), edit
//	kept/NAME                     → the server's own small values; those under brief/ with a lease
//	gone/PRODUCTION/IDENTITY      → what is still to be deleted of a log that was removed
//
// An edit in a page is where (1) received (8) length (4) and the author's bytes; where is as in
// package bolt.
//
// An append is one transaction: it compares the revision of the head, and puts head, edits and dots,
// whoever waited meanwhile included. However many edits that are, it takes a few of the 128 operations
// that etcd allows. A log is read by its dots when the store is opened, and followed by them:
// the process that holds the newest head knows all of them, so that a comparison with that head is one
// with every dot. A page never changes once it is under a head, so that any member may answer for it.
//
// A place in the log is its sequence, never a revision of etcd: what etcd compacts is nobody's.
// A watch says only that there is something to read; each second the heads are read anyhow. A value
// in kept is told as the watch has it, and read again wherever the watch was broken.
//
// Reading the source: store.go opens and closes, append.go groups and commits, refresh.go learns what
// others wrote, read.go copies out, follow.go waits for others, layout.go has keys and rows, answer.go
// turns what etcd says into what a store says, pass.go and door.go have it let this program in.
package etcd
