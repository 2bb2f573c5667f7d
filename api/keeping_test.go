package api

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/slate"
)

func TestWhatIsKeptWaitsForNobodyWhoAsks(t *testing.T) {
	store, one, _ := storeOfTwo(t)
	l, err := NewLogs(store).Keeping(one)
	if err != nil {
		t.Fatal(err)
	}
	l.Read(func(b *logbook.Book) {
		for _, keep := range []logbook.Keep{slate.KeepShots, amend.KeepTwins, amend.KeepConflicts, setup.KeepApart} {
			if !b.Prepare(keep, 0) {
				t.Errorf("%s is not told of all records", keep.Name)
			}
		}
	})
}
