// Package bolt is the store of logbook on bbolt: one file, one process.
//
// The layout, version 2 (numbers are big-endian):
//
//	meta     "layout"            → 8 bytes: the layout's number
//	kept     name                → the server's own small values, and marks of removed productions
//	logs     production (16)     → a bucket:
//	           "identity"        → 8 bytes
//	           edits   seq (8)   → where (1) received (8) hash (16) chain (8) the author's bytes
//	           clashes count (8) → line (8) n (8) received (8) via (16) hash (16) the bytes kept aside
//	           aside   line (8) n (8) hash (16) → left (1) received (8) via (16) the edit's bytes
//
// The bucket aside is there once an edit was brought by a device that may not put it
// into the log. where is the place in the author's bytes of the device that brought the edit,
// nearly always the author itself; 255 says that it stands before them instead
// (16 bytes).
//
// Layout 1 had rows of received (8) via (16) hash (16) chain (8) and bytes, which
// are still read: they begin with 0. It also had an index from dots to sequences,
// which took a third of the file and a fifth of the time of a commit; now the
// index is made at Open and kept in memory, some six bytes an edit.
//
// Caveats. bbolt syncs twice a commit, so that appends are grouped: the one that
// commits takes along whatever waits. A transaction that reads keeps old pages from
// being used again, so that no method leaves one open. A transaction that is rolled
// back makes bbolt read the whole file anew, so that what can be refused is refused
// before one begins. The file must lie on a local disk: bbolt maps it into memory and
// locks it.
//
// Reading the source: store.go opens and closes, write.go groups and commits,
// read.go copies out, index.go finds edits by dot, layout.go has the rows and the
// steps from older layouts, pages.go reads a file that may be damaged, rescue.go
// what is left of one that does not open, check.go looks for damage, backup.go and rotate.go keep copies, remove.go takes a
// production out, compact.go gives back room.
package bolt
