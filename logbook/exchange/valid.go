package exchange

// HoldValid takes stored edits in, by their bytes, that were found valid when they were first held: they are not judged
// again, since rules never narrow. Each that cannot be read is told, and left out.
func (r *Replica) HoldValid(edits [][]byte) (unread []error) {
	return r.book.ApplyValid(edits, r.comes)
}
