// Package amendtest is a desk for tests: where one person writes records by hand.
package amendtest

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// A Desk is where one person with one device writes records into a book.
type Desk struct {
	T    *testing.T
	Book *logbook.Book
	Line int // of the device that writes
	Now  logbook.Millis

	n   map[int]uint64
	ids int
}

// New puts a desk before an empty book.
func New(t *testing.T) *Desk {
	return &Desk{T: t, Book: logbook.NewBook(logtest.Production, kinds.Rules), Line: 1, Now: 1_772_600_000_000, n: map[int]uint64{}, ids: 100}
}

// NewID returns an id that no record has.
func (d *Desk) NewID() logbook.ID {
	d.ids++
	return logtest.ID(d.ids)
}

// Apply writes drafts under the desk's line.
func (d *Desk) Apply(drafts ...logbook.Draft) {
	d.T.Helper()
	for _, draft := range drafts {
		d.n[d.Line]++
		e := &logbook.Edit{
			Production: logtest.Production, Kind: draft.Kind, Record: draft.Record, Device: logtest.ID(60 + d.Line),
			Dot: logtest.Dot(d.Line, d.n[d.Line]), At: d.Now, By: "phone " + string(rune('0'+d.Line)), Set: draft.Set,
		}
		if _, err := logbook.EncodeEdit(e); err != nil {
			d.T.Fatal(err)
		}
		if err := d.Book.Apply(e); err != nil {
			d.T.Fatal(err)
		}
	}
}

// Make makes a record of its object.
func (d *Desk) Make(kind logbook.Kind, object string) logbook.View {
	d.T.Helper()
	v, err := logbook.ParseValue(object)
	if err != nil {
		d.T.Fatal(err)
	}
	changes, err := amend.Changes(kind, v)
	if err != nil {
		d.T.Fatal(err)
	}
	id := d.NewID()
	d.Apply(logbook.Draft{Kind: kind, Record: id, Set: changes})
	return d.View(id)
}

// View finds a record.
func (d *Desk) View(id logbook.ID) logbook.View {
	d.T.Helper()
	v, ok := d.Book.Record(id)
	if !ok {
		d.T.Fatalf("the record %s is not there", id)
	}
	return v
}

// Patch applies a merge patch and returns the record and the changes it took.
func (d *Desk) Patch(v logbook.View, patch string) (logbook.View, []logbook.Change) {
	d.T.Helper()
	p, err := logbook.ParseValue(patch)
	if err != nil {
		d.T.Fatal(err)
	}
	changes, err := amend.Patch(v, p)
	if err != nil {
		d.T.Fatal(err)
	}
	if len(changes) > 0 {
		d.Apply(v.Drafts(changes)...)
	}
	return d.View(v.ID), changes
}

// Body makes a camera body; more are members of its object, each behind a comma.
func (d *Desk) Body(more string) logbook.View {
	return d.Make(kinds.Body, `{"label":"b1","whiteModes":["kelvin"],"timecode":"timeOfDay"`+more+`}`)
}
