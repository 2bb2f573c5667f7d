package main

import (
	"testing"

	"evenwhite/logbook"
)

func TestExportReadsAsFarAsTheHeadItNames(t *testing.T) {
	store := logbook.NewMemory()
	production := demoProduction
	if err := fillDemoIn(store); err != nil {
		t.Fatal(err)
	}
	whole, err := store.Head(production)
	if err != nil {
		t.Fatal(err)
	}
	for _, atMost := range []int{1, 1000, 1 << 30} {
		end := whole.Seq / 2
		read := logbook.Seq(0)
		for {
			page, err := upTo{store, end}.Read(production, read, atMost)
			if err != nil {
				t.Fatal(err)
			}
			if len(page) == 0 {
				break
			}
			read = page[len(page)-1].Seq
		}
		if read != end {
			t.Errorf("in pages of %d bytes: got to %d of %d, want %d", atMost, read, whole.Seq, end)
		}
	}
}

func TestOneProductionIsFound(t *testing.T) {
	store := logbook.NewMemory()
	first, second := demoID("first"), demoID("second")
	if _, err := oneProduction(store, logbook.ID{}); err == nil {
		t.Error("an empty store: got no error")
	}
	if err := store.Begin(first, drawLine()); err != nil {
		t.Fatal(err)
	}
	if got, err := oneProduction(store, logbook.ID{}); err != nil || got != first {
		t.Errorf("the only one: got %s, error %v", got, err)
	}
	if _, err := oneProduction(store, second); err == nil {
		t.Error("one that is not there: got no error")
	}
	if err := store.Begin(second, drawLine()); err != nil {
		t.Fatal(err)
	}
	if _, err := oneProduction(store, logbook.ID{}); err == nil {
		t.Error("one of two, not named: got no error")
	}
	if got, err := oneProduction(store, second); err != nil || got != second {
		t.Errorf("one of two, named: got %s, error %v", got, err)
	}
}
