package logbook

// How many clashes a store keeps of those that one device brought, and how many bytes of
// them: more than a phone makes that was copied with its line, and too little to fill a disk.
const (
	MostClashes    = 1000
	MostClashBytes = 1 << 20
)

// Crowd counts the clashes that a store keeps, by the device that brought them.
type Crowd map[ID]struct{ Clashes, Bytes int }

// Add counts one more.
func (c Crowd) Add(e Entry) {
	n := c[e.Via]
	n.Clashes, n.Bytes = n.Clashes+1, n.Bytes+len(e.Bytes)
	c[e.Via] = n
}

// Room reports whether one more may be kept beside those of both.
func (c Crowd) Room(e Entry, coming Crowd) bool {
	n, m := c[e.Via], coming[e.Via]
	return n.Clashes+m.Clashes < MostClashes && n.Bytes+m.Bytes+len(e.Bytes) <= MostClashBytes
}
