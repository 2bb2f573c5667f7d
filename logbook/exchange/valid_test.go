package exchange_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

// Who takes valid edits in without judging them holds the same as who judges everything.
func TestWhatWasValidIsNotJudgedAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		judged := map[logbook.Dot]bool{}
		plain := func(e *logbook.Edit) error {
			if e.Set[0].Value == `"bad"` {
				return errors.New("bad is not allowed")
			}
			return nil
		}
		rules := logbook.Rules{Version: 1, Judge: func(e *logbook.Edit) error { judged[e.Dot] = true; return plain(e) }}
		device := logtest.ID(100)
		var edits []*logbook.Edit
		for line := range rapid.IntRange(1, 3).Draw(t, "lines") {
			for n := range rapid.IntRange(1, 6).Draw(t, "edits") {
				var over []logbook.Dot
				for _, e := range edits {
					if rapid.Bool().Draw(t, "over") {
						over = append(over, e.Dot)
					}
				}
				value := rapid.SampledFrom([]logbook.Value{`"a"`, `"b"`, `"bad"`, `{"b":1}`, `null`}).Draw(t, "value")
				e := logtest.ClipEdit(line, uint64(n+1), rapid.SampledFrom([]string{"lens", "same", "name"}).Draw(t, "field"), value, over...)
				e.Record = logtest.ID(rapid.IntRange(2, 3).Draw(t, "record"))
				e.Device = logtest.ID(rapid.IntRange(100, 101).Draw(t, "device"))
				edits = append(edits, e)
			}
		}
		all := exchange.NewReplica(logtest.Production, device, rules, nil)
		for _, e := range edits {
			all.Hold(e)
		}
		clear(judged)
		next := exchange.NewReplica(logtest.Production, device, rules, nil)
		var page [][]byte
		take := func() {
			if unread := next.HoldValid(page); len(unread) > 0 {
				t.Fatal(unread)
			}
			page = nil
		}
		for _, e := range rapid.Permutation(edits).Draw(t, "order") {
			if rapid.Bool().Draw(t, "page ends") {
				take()
			}
			if plain(e) != nil || rapid.Bool().Draw(t, "came since") {
				next.Hold(e)
				delete(judged, e.Dot)
				continue
			}
			bytes, err := logbook.EncodeEdit(e)
			if err != nil {
				t.Fatal(err)
			}
			page = append(page, bytes)
		}
		take()
		if len(judged) > 0 {
			t.Errorf("judged again: %v", judged)
		}
		if err := logtest.Compare(next.Book(), plain, edits); err != nil {
			t.Fatal(err)
		}
		if next.Own() != all.Own() || next.Unsent() != all.Unsent() || logtest.Refused(next.Book()) != logtest.Refused(all.Book()) {
			t.Error("it differs from who judged everything")
		}
		for _, e := range edits {
			if !next.HoldsCopy(e) {
				t.Errorf("%s reads otherwise", e.Dot)
			}
		}
	})
}

func TestOfValidEditsWhatCannotBeReadIsTold(t *testing.T) {
	rules := logbook.Rules{Version: 1, Judge: func(*logbook.Edit) error { return nil }}
	r := exchange.NewReplica(logtest.Production, logtest.ID(100), rules, nil)
	e := logtest.ClipEdit(1, 1, "lens", `"50 mm"`)
	bytes, err := logbook.EncodeEdit(e)
	if err != nil {
		t.Fatal(err)
	}
	other := slices.Clone(bytes)
	other[1]++ // of the production
	unread := r.HoldValid([][]byte{bytes[:70], bytes, other, nil})
	if len(unread) != 3 || !errors.Is(unread[0], logbook.ErrForm) || !strings.Contains(unread[1].Error(), "production") || !r.HoldsCopy(e) {
		t.Errorf("of a cut edit, a whole one, one of another production and an empty one it says %v", unread)
	}
}
