package slate_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/slate"
)

// FuzzEvents: whatever comes is read or answered with errors about fields, and no event
// can be taken where there is no set-up.
func FuzzEvents(f *testing.F) {
	for _, seed := range []string{
		`{"event":"nextTake","cameras":{` + logtest.SomeID + `:{"kelvin":5600}}}`, `{"event":"series","timecode":"10:20:30:00"}`,
		`{"event":"falseTake","falseTakeNumber":"used"}`, `{"cameras":null}`, `[]`,
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := logbook.ParseValue(text)
		if err != nil {
			return
		}
		empty := logbook.NewBook(logtest.Production, kinds.Rules)
		var all amend.Errors
		if ev, err := slate.ReadEvent(logtest.ID(2), v); err != nil && !errors.As(err, &all) {
			t.Fatalf("got %v, want errors about fields", err)
		} else if drafts, err := slate.Drafts(empty, ev, func() logbook.ID { return logtest.ID(3) }, 1); err == nil {
			t.Fatalf("in an empty book: got %v, want an error", drafts)
		}
	})
}
