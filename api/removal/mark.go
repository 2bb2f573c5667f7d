package removal

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"evenwhite/logbook"
)

// A Mark is what stays of a production that was removed.
type Mark struct {
	Production logbook.ID `json:"production"`
	Title      string     `json:"title,omitempty"`
	RemovedAt  time.Time  `json:"removedAt"`
	By         string     `json:"by"` // the label of the device that asked for it
	Edits      int        `json:"edits"`
	// Log is the chain over all edits: whoever takes the bundle into an empty log comes to
	// the same, unless edits had been damaged and came again.
	Log    string `json:"log"`
	Folder string `json:"folder"` // the name of the folder that the files lie in
	Files  []File `json:"files"`
}

// A File is one of the files that were written and read back.
type File struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"` // in hexadecimal digits, as sha256sum prints it
}

// String says which production it was, and when and by whom it was removed.
func (m Mark) String() string {
	return fmt.Sprintf("%q (%s) was removed here on %s by %s", m.Title, m.Production, m.RemovedAt.UTC().Format("2006-01-02 15:04 UTC"), m.By)
}

// Removed is the error about a production that was removed; it wraps logbook.ErrRemoved.
type Removed struct{ Mark }

func (r *Removed) Error() string {
	return r.String() + ": what a device holds of it stays on the device, and is not taken here " +
		"until an owner of the server takes the production in again"
}

// Unwrap makes it a logbook.ErrRemoved.
func (r *Removed) Unwrap() error { return logbook.ErrRemoved }

// Find is the mark of a production, or nil where it was not removed.
func Find(store logbook.Store, production logbook.ID) (*Mark, error) {
	value, err := store.Kept(logbook.RemovedName(production))
	if err != nil || value == nil {
		return nil, err
	}
	m := read(logbook.KeptValue{Name: logbook.RemovedName(production), Value: value})
	return &m, nil
}

// All are the marks in a store, the newest first.
func All(store logbook.Store) ([]Mark, error) {
	kept, err := store.KeptUnder(logbook.RemovedUnder)
	return Read(kept), err
}

// Read reads marks as they are kept, and puts the newest first.
func Read(kept []logbook.KeptValue) []Mark {
	marks := make([]Mark, len(kept))
	for i, k := range kept {
		marks[i] = read(k)
	}
	slices.SortStableFunc(marks, func(a, b Mark) int { return cmp.Compare(b.RemovedAt.UnixNano(), a.RemovedAt.UnixNano()) })
	return marks
}

// read reads a mark. Of one that a later version wrote in another way the production is left, which
// is what counts.
func read(k logbook.KeptValue) (m Mark) {
	_ = json.Unmarshal(k.Value, &m)
	m.Production, _ = logbook.ParseID(k.Name[len(logbook.RemovedUnder):])
	return m
}
