package main

import (
	"testing"

	"evenwhite/logbook"
)

func TestOneProductionIsFound(t *testing.T) {
	store := logbook.NewMemory()
	first, second := logbook.ID{1}, logbook.ID{2}
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
