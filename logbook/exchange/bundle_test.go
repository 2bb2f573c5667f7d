package exchange_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

func testBundle(t testing.TB) ([]*logbook.Edit, []byte) {
	var edits []*logbook.Edit
	for n := uint64(1); n <= 5; n++ {
		edits = append(edits, logtest.ClipEdit(1, n, "lens", `"50 mm"`))
	}
	var b bytes.Buffer
	if err := exchange.WriteBundle(&b, logtest.Production, edits); err != nil {
		t.Fatal(err)
	}
	return edits, b.Bytes()
}

func takeAll(b []byte, production logbook.ID) (dots []logbook.Dot, err error) {
	err = exchange.ReadBundle(bytes.NewReader(b), production, func(e *logbook.Edit) error {
		dots = append(dots, e.Dot)
		return nil
	})
	return dots, err
}

func TestBundle(t *testing.T) {
	edits, whole := testBundle(t)
	t.Run("gives back what was written", func(t *testing.T) {
		dots, err := takeAll(whole, logtest.Production)
		if err != nil || len(dots) != len(edits) || dots[4] != edits[4].Dot {
			t.Errorf("got %v (%v), want five edits", dots, err)
		}
	})
	t.Run("of another production is refused before anything is taken", func(t *testing.T) {
		dots, err := takeAll(whole, logtest.ID(7))
		if !errors.Is(err, logbook.ErrRequest) || len(dots) != 0 || !strings.Contains(err.Error(), logtest.Production.String()) {
			t.Errorf("got %v (%v), want a refusal that names the production", dots, err)
		}
	})
	t.Run("damaged at any byte is noticed and what stands before is whole", func(t *testing.T) {
		for at := range whole {
			damaged := append([]byte(nil), whole...)
			damaged[at] ^= 0x41
			dots, err := takeAll(damaged, logtest.Production)
			if err == nil {
				t.Fatalf("byte %d: the damage was not noticed", at)
			}
			for i, d := range dots {
				if d != edits[i].Dot {
					t.Fatalf("byte %d: edit %d has dot %s, want %s", at, i, d, edits[i].Dot)
				}
			}
		}
	})
	t.Run("cut off at any byte is noticed", func(t *testing.T) {
		for at := range whole {
			if _, err := takeAll(whole[:at], logtest.Production); !errors.Is(err, logbook.ErrDamaged) {
				t.Fatalf("cut at %d: got %v, want it to be called damaged", at, err)
			}
		}
	})
}

func FuzzReadBundle(f *testing.F) {
	_, whole := testBundle(f)
	f.Add(whole)
	f.Fuzz(func(t *testing.T, b []byte) {
		var edits []*logbook.Edit
		err := exchange.ReadBundle(bytes.NewReader(b), logtest.Production, func(e *logbook.Edit) error {
			edits = append(edits, e)
			return nil
		})
		if err != nil {
			return
		}
		var again bytes.Buffer
		if err := exchange.WriteBundle(&again, logtest.Production, edits); err != nil {
			t.Fatal(err)
		}
		if dots, err := takeAll(again.Bytes(), logtest.Production); err != nil || len(dots) != len(edits) {
			t.Fatalf("an accepted bundle does not read again: %v", err)
		}
	})
}
