package review

import (
	"encoding/json"
	"fmt"
	"iter"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
)

// A RecordsPage is a page of records as they read now.
type RecordsPage struct {
	Records []json.RawMessage `json:"records"`
	Next    string            `json:"next,omitempty"`
}

// Records is the page of a part behind a cursor; nil is the first. The error wraps ErrCursor,
// or logbook.ErrNoRecord where the set-up or the day is not there.
func Records(b *logbook.Book, of Part, cursor *string, limit int) (RecordsPage, error) {
	page := RecordsPage{Records: []json.RawMessage{}} // written as [], where nil would be null
	after, err := readPlace(cursor)
	if err != nil {
		return page, err
	}
	if err := InScope(b, of.SetUp, of.Day); err != nil {
		return page, err
	}
	var last logbook.Place
	for v := range of.from(b, after) {
		if len(page.Records) == limit {
			page.Next = placeText(last)
			break
		}
		page.add(v)
		last = v.Place()
	}
	return page, nil
}

func (p *RecordsPage) add(v logbook.View) {
	p.Records = append(p.Records, json.RawMessage(amend.Object(v)))
}

// Changed are the records of edits as they read now, each once.
func Changed(b *logbook.Book, edits []*logbook.Edit) RecordsPage {
	page, seen := RecordsPage{Records: []json.RawMessage{}}, map[logbook.ID]bool{}
	for _, e := range edits {
		v, ok := b.RecordOf(e.Kind, e.Record)
		if ok && !seen[v.ID] {
			seen[v.ID] = true
			page.add(v)
		}
	}
	return page
}

// notHere is a logbook.ErrNoRecord in the words of an answer.
type notHere struct{ what string }

func (e notHere) Error() string { return "there is no such record: " + e.what }

func (e notHere) Unwrap() error { return logbook.ErrNoRecord }

// NotHere is the error about what is not there; it wraps logbook.ErrNoRecord.
func NotHere(what string) error { return notHere{what} }

// Find finds a record, or says that it is not there: the error wraps logbook.ErrNoRecord.
func Find(b *logbook.Book, kind logbook.Kind, id logbook.ID) (logbook.View, error) {
	v, ok := b.RecordOf(kind, id)
	if !ok {
		return v, notHere{fmt.Sprintf("%s %s", kind, id)}
	}
	return v, nil
}

// InScope refuses a set-up or a day that is not there; neither is asked for by the
// zero id.
func InScope(b *logbook.Book, setUp, day logbook.ID) error {
	for _, of := range []struct {
		kind logbook.Kind
		id   logbook.ID
	}{{kinds.SetUp, setUp}, {kinds.Day, day}} {
		if of.id.IsZero() {
			continue
		}
		if _, err := Find(b, of.kind, of.id); err != nil {
			return err
		}
	}
	return nil
}

// A Part is what of a kind is listed: of a set-up, of a day, or all where those are zero.
type Part struct {
	Kind       logbook.Kind
	SetUp, Day logbook.ID
	Deleted    bool // those that were struck out as well
}

// from walks it from behind a place on. Of a set-up or a day no other records are
// looked at.
func (p Part) from(b *logbook.Book, after logbook.Place) iter.Seq[logbook.View] {
	switch {
	case p.SetUp.IsZero() && p.Day.IsZero():
		return b.From(p.Kind, after, p.Deleted)
	case p.Kind == kinds.SetUp && !p.SetUp.IsZero():
		return p.sorted(b, after, p.one(b, p.SetUp))
	case p.Kind == kinds.Day && p.SetUp.IsZero():
		return p.sorted(b, after, p.one(b, p.Day))
	}
	referring := b.Referring
	if p.Deleted {
		referring = b.AllReferring
	}
	setUps := []logbook.ID{p.SetUp}
	var found []logbook.View
	if p.SetUp.IsZero() {
		setUps = nil
		for _, v := range b.AllReferring(kinds.SetUp, "day", p.Day) {
			setUps = append(setUps, v.ID)
		}
		found = referring(p.Kind, "day", p.Day)
	}
	for _, setUp := range setUps {
		found = append(found, referring(p.Kind, "setUp", setUp)...)
	}
	return p.sorted(b, after, found)
}

func (p Part) one(b *logbook.Book, id logbook.ID) []logbook.View {
	if v, ok := b.RecordOf(p.Kind, id); ok && (p.Deleted || !v.Deleted()) {
		return []logbook.View{v}
	}
	return nil
}

func (p Part) sorted(b *logbook.Book, after logbook.Place, found []logbook.View) iter.Seq[logbook.View] {
	found = slices.DeleteFunc(found, func(v logbook.View) bool { return v.Place().Compare(after) <= 0 || !belongs(b, v, p.SetUp, p.Day) })
	slices.SortFunc(found, logbook.ByPlace)
	return slices.Values(slices.CompactFunc(found, func(v, w logbook.View) bool { return v.ID == w.ID }))
}

// belongs reports whether a record is of a set-up and of a day, where those are
// asked for and not zero.
func belongs(b *logbook.Book, v logbook.View, setUp, day logbook.ID) bool {
	of := v.Ref("setUp")
	if v.Kind == kinds.SetUp {
		of = v.ID
	}
	if !setUp.IsZero() && of != b.Resolve(setUp) {
		return false
	}
	if day.IsZero() {
		return true
	}
	ofDay := v.Ref("day")
	if s, ok := b.RecordOf(kinds.SetUp, of); ok {
		ofDay = s.Ref("day")
	}
	if v.Kind == kinds.Day {
		ofDay = v.ID
	}
	return ofDay == b.Resolve(day)
}
