package exchange

import (
	"errors"
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
)

func TestAPassageThatCannotBeReadIsTriedAgain(t *testing.T) {
	var held passages
	key, fault := passageKey{to: 1}, errors.New("the disk does not answer")
	if _, err := held.get(key, func() (*Passage, error) { return nil, fault }); !errors.Is(err, fault) {
		t.Errorf("got %v, want %v", err, fault)
	}
	want := &Passage{}
	if got, err := held.get(key, func() (*Passage, error) { return want, nil }); got != want || err != nil {
		t.Errorf("got %v and %v, want the second try", got, err)
	}
}

func TestAPassageWhoseWritingPanicsIsTriedAgain(t *testing.T) {
	var held passages
	key, want := passageKey{to: 1}, &Passage{}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was kept from whoever answers it")
			}
		}()
		_, _ = held.get(key, func() (*Passage, error) { panic("a page too many") })
	}()
	if got, err := held.get(key, func() (*Passage, error) { return want, nil }); got != want || err != nil {
		t.Errorf("got %v and %v, want the second try", got, err)
	}
}

func TestPassagesCoverTheLogWithoutWhatWasBrought(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		head := logbook.Seq(rapid.IntRange(0, 5000).Draw(t, "head"))
		from := logbook.Seq(rapid.IntRange(0, int(head)).Draw(t, "from"))
		set := map[logbook.Seq]bool{}
		for _, n := range rapid.SliceOfN(rapid.IntRange(1, 5000), 0, 20).Draw(t, "brought") {
			set[logbook.Seq(n)] = true
		}
		brought := slices.Sorted(maps.Keys(set))
		passages := 0
		for at := from; at < head; {
			end := passageEnd(at, head, brought)
			if end == at {
				if at++; !set[at] {
					t.Fatalf("%d is left out, and was not brought", at)
				}
				continue
			}
			for seq := at + 1; seq <= end; seq++ {
				if set[seq] || seq > head {
					t.Fatalf("the passage from %d to %d holds %d", at, end, seq)
				}
			}
			at = end
			passages++
		}
		if most := 50 * (len(brought) + 1); passages > most {
			t.Errorf("%d passages; want at most %d", passages, most)
		}
	})
}
