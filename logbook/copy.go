package logbook

import (
	"errors"
	"fmt"
	"strings"
)

// Copied counts what was copied of a store.
type Copied struct{ Productions, Edits, Clashes, Asides, Values int }

// Copy copies all of a store into an empty one of another kind, while the first goes on being used:
// of each log what was in it when its turn came. What was taken as damaged before, and stands elsewhere
// by now, leaves no gap in the copy: cursors of such a log begin anew.
func Copy(from, to Store) (n Copied, err error) {
	if ids, err := to.Productions(); err != nil || len(ids) > 0 {
		return n, errors.Join(err, ErrNotEmpty)
	}
	values, err := from.KeptUnder("") // first: a note about edits must not come without them
	if err != nil {
		return n, err
	}
	ids, err := from.Productions()
	if err != nil {
		return n, err
	}
	for _, id := range ids {
		switch err := copyLog(from, to, id, &n); {
		case errors.Is(err, ErrNoProduction): // it was removed meanwhile
		case err != nil:
			return n, fmt.Errorf("production %s: %w", id, err)
		default:
			n.Productions++
		}
	}
	for _, v := range values {
		if strings.HasPrefix(v.Name, BriefUnder) {
			continue
		}
		if err := to.Keep(v.Name, v.Value); err != nil {
			return n, err
		}
		n.Values++
	}
	return n, nil
}

// ErrNotEmpty is wrapped where a copy would meet what is there.
var ErrNotEmpty = errors.New("the store holds something already")

func copyLog(from, to Store, production ID, n *Copied) error {
	head, err := from.Head(production)
	if err != nil {
		return err
	}
	if err := to.Begin(production, head.Identity); err != nil {
		return err
	}
	for after := Seq(0); after < head.Seq; {
		page, err := from.Read(production, after, PageBytes)
		if err != nil {
			return err
		}
		if len(page) == 0 {
			break // the last are damaged
		}
		var entries []Entry
		for _, e := range page {
			if after = e.Seq; after <= head.Seq {
				entries = append(entries, e.Entry)
			}
		}
		receipts, err := to.Append(production, entries)
		if err != nil {
			return err
		}
		for i, r := range receipts {
			if r.Outcome != Taken {
				return fmt.Errorf("%w: edit %s stands there twice", ErrDamaged, entries[i].Dot)
			}
		}
		n.Edits += len(entries)
	}
	clashes, err := from.Clashes(production)
	if err != nil {
		return err
	}
	for len(clashes) > 0 {
		some := clashes[:few(clashes)]
		if _, err := to.Append(production, some); err != nil {
			return err
		}
		n.Clashes, clashes = n.Clashes+len(some), clashes[len(some):]
	}
	asides, err := from.Asides(production)
	if err == nil && len(asides) > 0 {
		err = to.SetAside(production, asides)
	}
	n.Asides += len(asides)
	return err
}

// few is how many entries make about a page.
func few(entries []Entry) int {
	for size, i := 0, 0; i < len(entries); i++ {
		if size += len(entries[i].Bytes); size > PageBytes {
			return i + 1
		}
	}
	return len(entries)
}
