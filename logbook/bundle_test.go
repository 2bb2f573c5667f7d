package logbook

import (
	"bytes"
	"errors"
	"strings"
	"testing"
)

func testBundle(t testing.TB) ([]*Edit, []byte) {
	var edits []*Edit
	for n := uint64(1); n <= 5; n++ {
		edits = append(edits, clipEdit(1, n, "lens", `"50 mm"`))
	}
	var b bytes.Buffer
	if err := WriteBundle(&b, testID(1), edits); err != nil {
		t.Fatal(err)
	}
	return edits, b.Bytes()
}

func takeAll(b []byte, production ID) (dots []Dot, err error) {
	err = ReadBundle(bytes.NewReader(b), production, func(e *Edit) error {
		dots = append(dots, e.Dot)
		return nil
	})
	return dots, err
}

func TestBundle(t *testing.T) {
	edits, whole := testBundle(t)
	t.Run("gives back what was written", func(t *testing.T) {
		dots, err := takeAll(whole, testID(1))
		if err != nil || len(dots) != len(edits) || dots[4] != edits[4].Dot {
			t.Errorf("got %v (%v), want five edits", dots, err)
		}
	})
	t.Run("of another production is refused before anything is taken", func(t *testing.T) {
		dots, err := takeAll(whole, testID(7))
		if !errors.Is(err, ErrRequest) || len(dots) != 0 || !strings.Contains(err.Error(), testID(1).String()) {
			t.Errorf("got %v (%v), want a refusal that names the production", dots, err)
		}
	})
	t.Run("damaged at any byte is noticed and what stands before is whole", func(t *testing.T) {
		for at := range whole {
			damaged := append([]byte(nil), whole...)
			damaged[at] ^= 0x41
			dots, err := takeAll(damaged, testID(1))
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
			if _, err := takeAll(whole[:at], testID(1)); !errors.Is(err, ErrDamaged) {
				t.Fatalf("cut at %d: got %v, want it to be called damaged", at, err)
			}
		}
	})
}

func FuzzReadBundle(f *testing.F) {
	_, whole := testBundle(f)
	f.Add(whole)
	f.Fuzz(func(t *testing.T, b []byte) {
		var edits []*Edit
		err := ReadBundle(bytes.NewReader(b), testID(1), func(e *Edit) error {
			edits = append(edits, e)
			return nil
		})
		if err != nil {
			return
		}
		var again bytes.Buffer
		if err := WriteBundle(&again, testID(1), edits); err != nil {
			t.Fatal(err)
		}
		if dots, err := takeAll(again.Bytes(), testID(1)); err != nil || len(dots) != len(edits) {
			t.Fatalf("an accepted bundle does not read again: %v", err)
		}
	})
}
