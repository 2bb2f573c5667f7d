package api

import (
	"encoding/binary"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// manyLines is a server that was restored and a phone that was away, between them edits of very
// many lines: 20 phones of 60 days that start their program ten times an hour.
type manyLines struct {
	*site
	phone      *client
	production logbook.ID
	identity   logbook.Line
	r          *exchange.Replica
	log        logbook.Line
	longest    int // body, of either side
	calls      int
}

// edit is the only edit of a line.
func (f *manyLines) edit(n int) *logbook.Edit {
	e := &logbook.Edit{
		Production: f.production, Kind: kinds.Clip, Record: logbook.ID{0: 1, 6: 0x70, 8: 0x80, 15: 1}, Device: logbook.ID{15: 9},
		Dot: logbook.Dot{N: 1}, At: 1_930_000_000_000, Set: []logbook.Change{{Field: "lens", Value: `"35 mm"`}},
	}
	binary.BigEndian.PutUint64(e.Dot.Line[:], uint64(n+1)*0x9e3779b97f4a7c15)
	return e
}

// restored opens a server whose store holds the edits from one to another, and a phone that
// holds others and knows of a log that went further.
func restored(t *testing.T, storeFrom, storeTo, phoneFrom, phoneTo int) *manyLines {
	f := &manyLines{site: openSite(t), production: drawID(), identity: drawLine()}
	f.phone = f.admit(pairing.Owner, "phone", logbook.ID{})
	if err := f.store.Begin(f.production, f.identity); err != nil {
		t.Fatal(err)
	}
	var entries []logbook.Entry
	for n := storeFrom; n < storeTo; n++ {
		b, err := logbook.EncodeEdit(f.edit(n))
		if err != nil {
			t.Fatal(err)
		}
		entries = append(entries, logbook.Entry{Dot: f.edit(n).Dot, Hash: logbook.HashOf(b), Bytes: b, Via: logbook.ID{15: 9}})
	}
	if _, err := f.store.Append(f.production, entries); err != nil {
		t.Fatal(err)
	}
	f.r = exchange.NewReplica(f.production, f.phone.device, kinds.Rules, drawLine)
	for n := phoneFrom; n < phoneTo; n++ {
		f.r.Hold(f.edit(n))
	}
	before := logbook.NewMemory()
	if err := before.Begin(f.production, f.identity); err != nil {
		t.Fatal(err)
	}
	gone, err := logbook.OpenLog(before, f.production, kinds.Rules, drawLine)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := gone.Push([]*logbook.Edit{f.edit(phoneTo - 1)}, logbook.ID{15: 9}, 1); err != nil {
		t.Fatal(err)
	}
	place, err := exchange.NewPeer(gone).Place()
	if err != nil {
		t.Fatal(err)
	}
	f.log, _ = f.r.Take(exchange.Answer{Run: drawLine(), Identity: f.identity, Cursor: place, List: logbook.Ranges{}})
	return f
}

func (f *manyLines) exchangeAll(form wireForm) {
	f.Helper()
	for more := true; more; f.calls++ {
		said := form.request(f.T, f.r, f.log, nil)
		answer := f.phone.ask("POST", "/v1/productions/"+f.production.String()+"/exchange", string(said), form.header()...).want(200).body
		f.longest = max(f.longest, len(said), len(answer))
		a, err := form.answer(f.r, f.production, answer)
		if err != nil {
			f.Fatal(err)
		}
		f.log, more = f.r.Take(a)
	}
}

// A phone and a restored server say nothing that is longer than a body may be, however many
// lines they hold, and then both hold all.
func TestARestoredServerIsRefilledOfAnyNumberOfLines(t *testing.T) {
	part := logtest.AtLength(1, 10)
	for name, c := range map[string]struct {
		form                                   wireForm
		storeFrom, storeTo, phoneFrom, phoneTo int
	}{
		"to yesterday's store, in rows":          {&rowsForm{}, 0, 59_500, 500, 60_000},
		"to yesterday's store, in readable form": {readableForm{}, 0, 44_700, 300, 45_000},
		"to an empty store, in rows":             {&rowsForm{}, 0, 0, 0, 5_000},
	} {
		t.Run(name, func(t *testing.T) {
			c.storeTo, c.phoneFrom, c.phoneTo = c.storeTo/part, c.phoneFrom/part, c.phoneTo/part
			f := restored(t, c.storeFrom, c.storeTo, c.phoneFrom, c.phoneTo)
			f.exchangeAll(c.form)
			held, err := f.store.Ranges(f.production)
			if err != nil {
				t.Fatal(err)
			}
			if here, there := len(f.r.Book().Holds()), len(held); here != c.phoneTo || there != c.phoneTo {
				t.Errorf("the phone holds %d lines and the server %d, want %d", here, there, c.phoneTo)
			}
			if f.longest > mostBody {
				t.Errorf("a body had %d bytes; allowed are %d", f.longest, mostBody)
			}
		})
	}
}
