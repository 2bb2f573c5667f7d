package colorlog

import (
	"fmt"
	"reflect"
	"runtime"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
)

// bookOf merges edits into a book.
func bookOf(t testing.TB, edits []*logbook.Edit) *logbook.Book {
	b := logbook.NewBook(growth.Production, kinds.Rules)
	for _, e := range edits {
		if err := b.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	b.Settle()
	return b
}

func TestALongJobIsHeldOneSetUpAtATime(t *testing.T) {
	book := bookOf(t, growth.LongJob(2))
	var before runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var c counter
	if err := WriteJSON(&c, HeadOf(book, Scope{}, Origin{Program: "test"}), Rows(book, Scope{})); err != nil {
		t.Fatal(err)
	}
	if grown := int64(c.most) - int64(before.HeapAlloc); c.bytes < 1<<20 || grown > 2<<20 {
		t.Errorf("wrote %d bytes of 960 clips while the heap grew by %d; want at least 1 MiB written and at most 2 MiB held", c.bytes, grown)
	}
}

// What is worked out once for all set-ups of a call must not change what is said
// of any of them.
func TestASetUpAloneHasTheRowsThatItHasAmongOthers(t *testing.T) {
	book := bookOf(t, growth.LongJob(2))
	rows := func(scope Scope) (all []Row) {
		for row, err := range Rows(book, scope) {
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, row)
		}
		return all
	}
	now := logbook.Millis(1_930_000_000_000 + 10*24*3600_000)
	var alone []Row
	found := map[string]deviation.Deviation{} // by cause, kind and set-up
	for _, setUp := range book.Records(kinds.SetUp) {
		alone = append(alone, rows(Scope{SetUp: setUp.ID})...)
		for _, d := range deviation.Of(book, deviation.Scope{SetUp: setUp.ID}, now) {
			found[fmt.Sprint(d.Cause, d.Kind, d.SetUp)] = d
		}
	}
	together := rows(Scope{})
	if len(together) != 960 || len(alone) != len(together) {
		t.Fatalf("got %d rows alone and %d together, want 960 each", len(alone), len(together))
	}
	for i := range together {
		if !reflect.DeepEqual(alone[i], together[i]) {
			t.Fatalf("row %d: got %+v together, want %+v", i, together[i], alone[i])
		}
	}
	all := deviation.Of(book, deviation.Scope{}, now)
	if len(all) < 100 || len(all) != len(found) {
		t.Fatalf("got %d deviations together and %d alone, want as many and at least 100", len(all), len(found))
	}
	for _, d := range all {
		if want := found[fmt.Sprint(d.Cause, d.Kind, d.SetUp)]; !reflect.DeepEqual(d, want) {
			t.Errorf("got %+v together, want %+v", d, want)
		}
	}
}
