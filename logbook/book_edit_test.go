package logbook_test

import (
	"math/rand/v2"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func TestABookFindsItsEditsByTheirDots(t *testing.T) {
	b := logbook.NewBook(logtest.Production, rules)
	b.Index()
	chance := rand.New(rand.NewPCG(1, 2))
	wrote := map[logbook.Dot]string{}
	for len(wrote) < 500 {
		e := &logbook.Edit{Production: logtest.Production, Kind: "clip", Record: logtest.ID(chance.IntN(200)), Device: logtest.ID(1), By: "Ada",
			Dot: logbook.Dot{Line: logbook.Line{7: byte(chance.Uint32N(3))}, N: 1 + chance.Uint64N(400)},
			Set: []logbook.Change{{Field: "lens", Value: logbook.TextValue(string(rune('a' + chance.Uint32N(26))))}}}
		bytes, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		if _, there := wrote[e.Dot]; there {
			continue
		}
		wrote[e.Dot] = string(bytes)
		_ = b.Apply(e)
	}
	for line := range byte(3) {
		for n := range uint64(450) {
			d := logbook.Dot{Line: logbook.Line{7: line}, N: n}
			e := b.Edit(d)
			ref, held := b.RecordAt(d)
			want, there := wrote[d]
			if held != there || (e != nil) != there {
				t.Fatalf("%s: found %v, %v; it was written: %v", d, e, held, there)
			}
			if !there {
				continue
			}
			if got, err := logbook.EncodeEdit(e); err != nil || string(got) != want || ref != (logbook.RecordRef{Kind: e.Kind, Record: e.Record}) {
				t.Fatalf("%s of %v reads %x, wrote %x (%v)", d, ref, got, want, err)
			}
		}
	}
}
