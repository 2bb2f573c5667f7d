package amend

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// ErrNotRefused is wrapped by errors about a dot under which no refused edit is
// held.
var ErrNotRefused = errors.New("no refused edit is held under this dot")

// ErrSettled is wrapped where a refused edit is to be corrected that somebody
// corrected or discarded before.
var ErrSettled = errors.New("somebody corrected or discarded it before: change the record itself")

// Quarantined is a refused edit and what people did about it. The edit stays and
// travels, whatever they did.
type Quarantined struct {
	logbook.Refusal
	// Corrected is the valid edit with which all fields that the refused one set were
	// corrected; nil while one is open.
	Corrected *logbook.Edit
	// Open are the fields that nobody corrected, in their order; none once all are, or
	// the edit is discarded.
	Open []string
	// Discarded is the note that discards it, as it was written; nil where there is
	// none that stands.
	Discarded *logbook.Edit
}

// Quarantine lists the edits that are here but not valid, by dot.
func Quarantine(b *logbook.Book) []Quarantined {
	notes := discardNotes(b)
	var out []Quarantined
	for _, r := range b.Refused() {
		q := Quarantined{Refusal: r}
		q.Corrected, q.Open = correction(b, r.Edit)
		if note, ok := notes[r.Edit.Dot]; ok {
			q.Discarded, q.Open = note.Created(), nil
		}
		out = append(out, q)
	}
	return out
}

// discardNotes finds the first note that stands and discards an edit, per edit.
func discardNotes(b *logbook.Book) map[logbook.Dot]logbook.View {
	notes := map[logbook.Dot]logbook.View{}
	for _, v := range b.Records(kinds.Note) {
		d, err := logbook.ParseDot(v.Text(discards))
		if err != nil {
			continue
		}
		if known, ok := notes[d]; !ok || logbook.Before(v.Created(), known.Created()) {
			notes[d] = v
		}
	}
	return notes
}

const discards = "discards"

// correction finds which fields of a refused edit are open, and where none is the edit
// that corrected the last of them. A field is corrected by an edit of the same record
// that names the refused one there; a fact, which names nothing, by one that sets it
// and names the refused edit in another field.
func correction(b *logbook.Book, refused *logbook.Edit) (last *logbook.Edit, open []string) {
	for i := range refused.Set {
		open = append(open, refused.Set[i].Field)
	}
	v, ok := b.Alone(refused.Kind, refused.Record)
	if !ok {
		return nil, open
	}
	spec, known := kinds.Of(refused.Kind)
	fact := func(field string) bool {
		if !known {
			return false
		}
		f, ok := spec.Field(field)
		return ok && f.Fact
	}
	for _, e := range v.Edits() { // oldest first
		named := false
		for d := range e.Names {
			named = named || d == refused.Dot
		}
		if !named {
			continue
		}
		open = slices.DeleteFunc(open, func(field string) bool {
			c, set := e.Change(field)
			return set && (slices.Contains(c.Over, refused.Dot) || fact(field))
		})
		if len(open) == 0 {
			return e, nil
		}
	}
	return nil, open
}

// Discard makes the draft of the note that discards a refused edit, about the
// record that the edit would have changed. Where one stands already it is
// returned, and there is nothing to store.
func Discard(b *logbook.Book, d logbook.Dot, id logbook.ID) (note logbook.ID, drafts []logbook.Draft, err error) {
	r, ok := b.Refusal(d)
	if !ok {
		return logbook.ID{}, nil, fmt.Errorf("%w: %s", ErrNotRefused, d)
	}
	if v, ok := discardNotes(b)[d]; ok {
		return v.ID, nil, nil
	}
	return id, []logbook.Draft{discardNote(b, r, id, "discarded")}, nil
}

// discardNote is the note that a refused edit is done with.
func discardNote(b *logbook.Book, r logbook.Refusal, id logbook.ID, how string) logbook.Draft {
	about := r.Edit.Record
	if about.IsZero() {
		about = b.Production()
	}
	return logbook.Draft{Kind: kinds.Note, Record: id, Set: []logbook.Change{
		{Field: "about", Value: logbook.TextValue(about.String()), Over: nil},
		{Field: "text", Value: logbook.TextValue(noteText("an edit by " + r.Edit.By + " is " + how + ": " + r.Reason)), Over: nil},
		{Field: "to", Value: `{"as":"set"}`, Over: nil},
		{Field: discards, Value: logbook.TextValue(r.Edit.Dot.String()), Over: nil},
	}}
}

// noteText makes a reason fit for a note: it may quote anything that was sent.
func noteText(text string) string {
	text = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == utf8.RuneError {
			return -1
		}
		return r
	}, text)
	const most = 500
	if utf8.RuneCountInString(text) > most {
		text = string([]rune(text)[:most]) + "…"
	}
	return text
}
