package review

import (
	"fmt"
	"slices"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
)

// What is looked up of a set-up or a day is what a walk over all records finds of it.
func TestAPartOfTheRecordsIsWhatBelongsToIt(t *testing.T) {
	d := amendtest.New(t)
	var days, setUps []logbook.ID
	for n := range 3 {
		day := d.Make(kinds.Day, fmt.Sprintf(`{"number":%d,"date":"2031-03-0%d"}`, n+1, n+1))
		days = append(days, day.ID)
		for _, name := range []string{"A", "B", "C"} {
			d.Now -= 700 // entered later, made earlier
			setUp := d.Make(kinds.SetUp, fmt.Sprintf(`{"day":"%s","name":"%s"}`, day.ID, name))
			setUps = append(setUps, setUp.ID)
			for number := range 3 {
				d.Now += 300
				take := d.Make(kinds.Take, fmt.Sprintf(`{"setUp":"%s","number":%d}`, setUp.ID, number+1))
				if number == 1 {
					d.Apply(take.Drafts([]logbook.Change{logbook.Strike(take)})...)
				}
			}
		}
	}
	b := d.Book
	first, second, gone := d.View(setUps[0]), d.View(setUps[1]), d.View(setUps[2])
	d.Apply(logbook.Draft{Kind: kinds.SetUp, Record: first.ID, Set: []logbook.Change{logbook.Replace(first, "same/"+second.ID.String(), `"one"`)}})
	d.Apply(gone.Drafts([]logbook.Change{logbook.Strike(gone)})...)

	for _, kind := range []logbook.Kind{kinds.Day, kinds.SetUp, kinds.Take, kinds.Camera} {
		for _, day := range append([]logbook.ID{{}}, days...) {
			for _, setUp := range append([]logbook.ID{{}}, setUps...) {
				for _, deleted := range []bool{false, true} {
					var want []logbook.ID
					for v := range b.From(kind, logbook.Place{Made: logbook.Beginning}, deleted) {
						if belongs(b, v, setUp, day) {
							want = append(want, v.ID)
						}
					}
					after := logbook.Place{Made: logbook.Beginning}
					for i := 0; ; i++ {
						var got []logbook.ID
						p := Part{kind, setUp, day, deleted}
						for v := range p.from(b, after) {
							got = append(got, v.ID)
						}
						if !slices.Equal(got, want[i:]) {
							t.Fatalf("%+v behind %d: got %v, want %v", p, i, got, want[i:])
						}
						if i == len(want) {
							break
						}
						v, _ := b.RecordOf(kind, want[i])
						after = v.Place()
					}
				}
			}
		}
	}
}
