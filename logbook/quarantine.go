package logbook

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"
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
	Refusal
	// Corrected is the valid edit that names the refused one as replaced; nil where
	// there is none.
	Corrected *Edit
	// Discarded is the note that discards it, as it was written; nil where there is
	// none that stands.
	Discarded *Edit
}

// Quarantine lists the edits that are here but not valid, by dot.
func Quarantine(b *Book) []Quarantined {
	notes := discardNotes(b)
	var out []Quarantined
	for _, r := range b.Refused() {
		q := Quarantined{Refusal: r, Corrected: correction(b, r.Edit)}
		if note, ok := notes[r.Edit.Dot]; ok {
			q.Discarded = note.Created()
		}
		out = append(out, q)
	}
	return out
}

// discardNotes finds the first note that stands and discards an edit, per edit.
func discardNotes(b *Book) map[Dot]View {
	notes := map[Dot]View{}
	for _, v := range b.Records(KindNote) {
		d, err := ParseDot(v.Text(discards))
		if err != nil {
			continue
		}
		if known, ok := notes[d]; !ok || Before(v.Created(), known.Created()) {
			notes[d] = v
		}
	}
	return notes
}

const discards = "discards"

// correction finds the first edit of the same record that names a refused one.
func correction(b *Book, refused *Edit) *Edit {
	v, ok := b.Alone(refused.Kind, refused.Record)
	if !ok {
		return nil
	}
	for _, e := range v.Edits() { // oldest first
		for d := range e.Names {
			if d == refused.Dot {
				return e
			}
		}
	}
	return nil
}

// Discard makes the draft of the note that discards a refused edit, about the
// record that the edit would have changed. Where one stands already it is
// returned, and there is nothing to store.
func Discard(b *Book, d Dot, id ID) (note ID, drafts []Draft, err error) {
	r, ok := b.Refusal(d)
	if !ok {
		return ID{}, nil, fmt.Errorf("%w: %s", ErrNotRefused, d)
	}
	if v, ok := discardNotes(b)[d]; ok {
		return v.ID, nil, nil
	}
	return id, []Draft{discardNote(b, r, id, "discarded")}, nil
}

// discardNote is the note that a refused edit is done with.
func discardNote(b *Book, r Refusal, id ID, how string) Draft {
	about := r.Edit.Record
	if about.IsZero() {
		about = b.Production()
	}
	return Draft{KindNote, id, []Change{
		{"about", TextValue(about.String()), nil},
		{"text", TextValue(noteText("an edit by " + r.Edit.By + " is " + how + ": " + r.Reason)), nil},
		{"to", `{"as":"set"}`, nil},
		{discards, TextValue(r.Edit.Dot.String()), nil},
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
