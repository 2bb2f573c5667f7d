package api

import (
	"testing"

	"evenwhite/logbook"
)

func FuzzPlace(f *testing.F) {
	f.Add(place{made: 1930372200000, id: drawID()}.String())
	f.Add("MTkzMCA")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := parsePlace(&text)
		if err != nil {
			return
		}
		written := p.String()
		again, err := parsePlace(&written)
		if err != nil || again != p {
			t.Errorf("%q reads as %+v, which reads back as %+v (%v)", text, p, again, err)
		}
	})
}

func FuzzExchangeRequest(f *testing.F) {
	f.Add([]byte(`{"run":"00c0ffee00c0ffee","cursor":"x","have":{"00c0ffee00c0ffee":[[1,2],[4,9]]},"limitBytes":9}`))
	f.Add([]byte(`{"edits":[` + editOfTake + `]}`))
	f.Add([]byte(`{"have":{"00c0ffee00c0ffee":[[1]]}}`))
	f.Add([]byte(`{"limitBytes":1e3,"edits":[{"n":1}]}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		if _, err := logbook.ParseValue(string(body)); err != nil {
			return // the gate does not let it in
		}
		request, err := readableRequest(body)
		if err != nil {
			if p := problemOf(err); p.Status != 400 || p.Detail == "" {
				t.Errorf("%s fails with %d %q, want 400 with a detail", body, p.Status, p.Detail)
			}
			return
		}
		for line, spans := range request.Have {
			last := uint64(0)
			for _, s := range spans {
				if s.From <= last || s.To < s.From {
					t.Errorf("line %s holds %v, which does not rise", line, spans)
				}
				last = s.To
			}
		}
	})
}
