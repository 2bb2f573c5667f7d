package logbook

import (
	"errors"
	"testing"
)

// FuzzObjects: what the door lets in is valid everywhere, and a record's own
// object changes nothing when it comes back as a patch.
func FuzzObjects(f *testing.F) {
	for _, seed := range []string{
		`{"label":"b1","whiteModes":["kelvin"],"timecode":"none","presets":{"sun":{"name":"sun","kelvin":5600}}}`,
		`{"title":"x","timeZone":"Etc/UTC","frameRate":"25","gelFamily":"typed","limits":{"key":{"mired":9}}}`,
		`{"day":` + someID + `,"name":"A","cameras":{` + someID + `:{"inUse":true}},"mustMatch":{"setUp":` + someID + `}}`,
		`{"event":"nextTake","cameras":{` + someID + `:{"kelvin":5600}}}`, `{"tint":{"step":null}}`, `{"cameras":null}`, `[]`,
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := ParseValue(text)
		if err != nil {
			return
		}
		var all Errors
		if ev, err := ReadEvent(testID(2), v); err != nil && !errors.As(err, &all) {
			t.Fatalf("event: got %v, want errors about fields", err)
		} else if drafts, err := TakeEvent(NewBook(testID(1), KindRules), ev, func() ID { return testID(3) }, 1); err == nil {
			t.Fatalf("event in an empty book: got %v, want an error", drafts)
		}
		for _, spec := range Specs {
			changes, err := ChangesOf(spec.Kind, v)
			if err != nil {
				if !errors.As(err, &all) {
					t.Fatalf("%s: got %v, want errors about fields", spec.Kind, err)
				}
				continue
			}
			e := judged(spec.Kind, "", "")
			if e.Set = changes; e.arrange() != nil {
				continue // names or an object beyond the bounds of the byte form
			}
			b := NewBook(testID(1), KindRules)
			if err := b.Apply(e); err != nil {
				t.Fatalf("%s: let in, but %v", spec.Kind, err)
			}
			record, _ := b.Record(e.Record)
			object := ObjectOf(record)
			if canonical, err := ParseValue(string(object)); err != nil || canonical != object {
				t.Fatalf("%s: %s is not canonical: %v", spec.Kind, object, err)
			}
			if changes, err := PatchOf(record, object); err != nil || len(changes) != 0 {
				t.Fatalf("%s: its own object as a patch: got %v, %v", spec.Kind, changes, err)
			}
		}
	})
}
