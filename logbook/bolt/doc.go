// Package bolt is the store of logbook on bbolt: one file, one process.
//
// The layout, version 1 (numbers are big-endian):
//
//	meta     "layout"            → 8 bytes: the layout's number
//	kept     name                → the server's own small values
//	logs     production (16)     → a bucket:
//	           "identity"        → 8 bytes
//	           edits  seq (8)    → received (8) via (16) hash (16) chain (8) the author's bytes
//	           dots   line (8) n (8) → seq (8)
//	           clashes count (8) → line (8) n (8) received (8) via (16) hash (16) the bytes kept aside
//
// dots is an index and can be made again from edits. Which spans of each line are
// held is kept in memory and read from dots at Open.
//
// Caveats. bbolt syncs twice a commit, so that appends are grouped: one writer
// commits whatever waits. A transaction that reads keeps old pages from being
// used again, so that no method leaves one open. The file must lie on a local
// disk: bbolt maps it into memory and locks it.
package bolt
