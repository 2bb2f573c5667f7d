package growth

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/slate"
)

// A written book is one of a size, to which a benchmark writes as the service does; without
// the commit, whose time is the disk's.
type writtenBook struct {
	*logbook.Book
	b    *testing.B
	line logbook.Line
	n    uint64
	now  logbook.Millis
}

func bookOf(b *testing.B, size Size) *writtenBook {
	w := &writtenBook{Book: logbook.NewBook(Production, kinds.Rules), b: b, line: NextLine()}
	for e := range size.All() {
		if err := w.Apply(e); err != nil {
			b.Fatal(err)
		}
		w.now = max(w.now, e.At)
	}
	w.Settle()
	return w
}

func (w *writtenBook) write(drafts []logbook.Draft, err error) {
	if err != nil {
		w.b.Fatal(err)
	}
	for _, d := range drafts {
		w.n++
		w.now += 1000
		e := &logbook.Edit{Production: Production, Kind: d.Kind, Record: d.Record, Device: logbook.ID{15: 1},
			Dot: logbook.Dot{Line: w.line, N: w.n}, At: w.now, Set: d.Set}
		if _, err := logbook.EncodeEdit(e); err != nil {
			w.b.Fatal(err)
		}
		if err := w.Apply(e); err != nil {
			w.b.Fatal(err)
		}
	}
	w.Settle()
}

func (w *writtenBook) newID() logbook.ID {
	w.n++
	return logbook.ID{0: 9, 6: 0x70, 8: 0x80, 13: byte(w.n >> 16), 14: byte(w.n >> 8), 15: byte(w.n)}
}

// Each figure is the median of some acts after a first one, at which what is kept is made;
// growth.begin_keeping_ms is the first page of twins and conflicts and the first next take
// together.
func BenchmarkGrowthKept(b *testing.B) {
	Each(b, func(b *testing.B, size Size) {
		w := bookOf(b, size)
		before := heap()
		setUps := w.Records(kinds.SetUp)
		last := setUps[len(setUps)-1].ID
		nextTake := func(int) {
			event, err := slate.ReadEvent(last, `{"event":"nextTake"}`)
			if err != nil {
				b.Fatal(err)
			}
			w.write(slate.Drafts(w.Book, event, w.newID, w.now))
		}
		twins := func(int) { amend.TwinsFrom(w.Book, amend.TwinPlace{Kind: -1}, 100) }
		conflicts := func(int) {
			amend.ConflictsFrom(w.Book, amend.ConflictPlace{}, 100)
			amend.ConflictCounts(w.Book)
			setup.ApartIn(w.Book, w.now)
		}
		Times(b, size, "begin_keeping_ms", 1, func(i int) {
			twins(i)
			conflicts(i)
			nextTake(i)
		})
		Report(b, size, "kept_bytes_per_edit", float64(heap()-before)/float64(size.Edits))

		clips := w.Records(kinds.Clip)
		Times(b, size, "strike_ms", 50, func(i int) {
			clip := clips[len(clips)/2+i]
			w.write(clip.Drafts([]logbook.Change{logbook.Strike(clip)}), nil)
		})
		groups := amend.TwinsFrom(w.Book, amend.TwinPlace{Kind: -1}, 100)
		Times(b, size, "twin_answer_ms", len(groups)/2, func(i int) {
			w.write(amend.AnswerGroup(w.Book, groups[i].Records, amend.TwinOne, false))
		})
		Times(b, size, "next_take_ms", 20, nextTake)
		after := clips[len(clips)/2].Place()
		Times(b, size, "records_page_ms", 20, func(int) { // deep in the list
			n := 0
			for v := range w.From(kinds.Clip, after, false) {
				amend.Object(v)
				if n++; n == 100 {
					break
				}
			}
		})
		Times(b, size, "twins_ms", 20, func(i int) { nextTake(i); twins(i) })
		Times(b, size, "conflicts_ms", 20, func(i int) { nextTake(i); conflicts(i) })
	})
}
