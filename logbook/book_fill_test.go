package logbook_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// longLog is a log of many pages, in which every fifth edit is refused.
func longLog(t *testing.T) (store *logbook.Memory, forms map[logbook.Dot][]byte) {
	store, forms = logbook.NewMemory(), map[logbook.Dot][]byte{}
	l := logtest.Open(t, store, rules, 1)
	for n := uint64(1); n <= 100; n++ {
		kelvin := logbook.Value("3200")
		if n%5 == 0 {
			kelvin = "-3"
		}
		e := logtest.ClipEdit(1, n, "kelvin", kelvin)
		e.Set = append(e.Set, logbook.Change{Field: "note", Value: logbook.TextValue(strings.Repeat(string(rune('a'+n%26)), 40_000))})
		form, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		forms[e.Dot] = form
		if _, err := l.Push([]*logbook.Edit{e}, e.Device, e.At); err != nil {
			t.Fatal(err)
		}
	}
	return store, forms
}

func TestALogOfManyPagesOpensAsItWas(t *testing.T) {
	store, forms := longLog(t)
	logtest.Open(t, store, rules, 2).Read(func(b *logbook.Book) {
		var all []*logbook.Edit
		for e := range b.Applied() {
			all = append(all, e)
		}
		if len(all) != 80 || len(b.Refused()) != 20 {
			t.Errorf("got %d edits and %d refused, want 80 and 20", len(all), len(b.Refused()))
		}
		for _, r := range b.Refused() {
			all = append(all, r.Edit)
		}
		for _, e := range all {
			if form, err := logbook.EncodeEdit(e); err != nil || !bytes.Equal(form, forms[e.Dot]) {
				t.Errorf("edit %s is another than was stored (%v)", e.Dot, err)
			}
		}
	})
}

// failing is a store that cannot be read from a place on, or panics there.
type failing struct {
	*logbook.Memory
	from logbook.Seq
	with any
}

var errWorn = errors.New("the card is worn")

func (f failing) Read(production logbook.ID, after logbook.Seq, atMost int) ([]logbook.Stored, error) {
	if after < f.from {
		return f.Memory.Read(production, after, atMost)
	}
	if f.with != nil {
		panic(f.with)
	}
	return nil, errWorn
}

func TestALogThatCannotBeReadToItsEndDoesNotOpen(t *testing.T) {
	store, _ := longLog(t)
	for _, from := range []logbook.Seq{0, 40} {
		if _, err := logbook.OpenLog(failing{store, from, nil}, logtest.Production, rules, logtest.Lines(3)); !errors.Is(err, errWorn) {
			t.Errorf("from %d on: got %v, want %v", from, err, errWorn)
		}
		func() { // who opens it can recover
			defer func() {
				if fault := recover(); fault != "worn" {
					t.Errorf("from %d on: got the panic %v", from, fault)
				}
			}()
			_, _ = logbook.OpenLog(failing{store, from, "worn"}, logtest.Production, rules, logtest.Lines(3))
		}()
	}
}
