package amend_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// FuzzObjects: what the door lets in is valid everywhere, and a record's own
// object changes nothing when it comes back as a patch.
func FuzzObjects(f *testing.F) {
	for _, seed := range []string{
		`{"label":"b1","whiteModes":["kelvin"],"timecode":"none","presets":{"sun":{"name":"sun","kelvin":5600}}}`,
		`{"title":"x","timeZone":"Etc/UTC","frameRate":"25","gelFamily":"typed","limits":{"key":{"mired":9}}}`,
		`{"day":` + logtest.SomeID + `,"name":"A","cameras":{` + logtest.SomeID + `:{"inUse":true}},"mustMatch":{"setUp":` + logtest.SomeID + `}}`,
		`{"tint":{"step":null}}`, `{"cameras":null}`, `[]`,
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := logbook.ParseValue(text)
		if err != nil {
			return
		}
		var all amend.Errors
		for _, spec := range kinds.Specs {
			changes, err := amend.Changes(spec.Kind, v)
			if err != nil {
				if !errors.As(err, &all) {
					t.Fatalf("%s: got %v, want errors about fields", spec.Kind, err)
				}
				continue
			}
			e := logtest.ClipEdit(1, 3, "", "")
			e.Kind, e.Set = spec.Kind, changes
			if _, err := logbook.EncodeEdit(e); err != nil {
				continue // names or an object beyond the bounds of the byte form
			}
			b := logbook.NewBook(logtest.Production, kinds.Rules)
			if err := b.Apply(e); err != nil {
				t.Fatalf("%s: let in, but %v", spec.Kind, err)
			}
			record, _ := b.Record(e.Record)
			object := amend.Object(record)
			if canonical, err := logbook.ParseValue(string(object)); err != nil || canonical != object {
				t.Fatalf("%s: %s is not canonical: %v", spec.Kind, object, err)
			}
			if changes, err := amend.Patch(record, object); err != nil || len(changes) != 0 {
				t.Fatalf("%s: its own object as a patch: got %v, %v", spec.Kind, changes, err)
			}
		}
	})
}
