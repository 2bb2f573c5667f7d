package logbook_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// questions are asked of a book one by one; each answer is a text.
func questions() (all []func(*logbook.Book) string) {
	views := func(views []logbook.View) (s string) {
		for _, v := range views {
			s += about(v) + "\n"
		}
		return s
	}
	for n := range 4 {
		id := logtest.ID(2 + n)
		all = append(all,
			func(b *logbook.Book) string {
				v, found := b.Record(id)
				return fmt.Sprint(found, about(v))
			},
			func(b *logbook.Book) string { return b.Resolve(id).String() },
		)
		for _, kind := range []logbook.Kind{"clip", "take"} {
			all = append(all,
				func(b *logbook.Book) string {
					v, found := b.RecordOf(kind, id)
					if !found {
						return "none"
					}
					s := about(v)
					for other, answer := range v.Answers() {
						s += answer + about(other)
					}
					return s + views(v.Led()) + views(v.Parts())
				},
				func(b *logbook.Book) string {
					v, found := b.Alone(kind, id)
					return fmt.Sprint(found, about(v))
				})
			for _, field := range []string{"of", "takes"} {
				all = append(all,
					func(b *logbook.Book) string { return views(b.Referring(kind, field, id)) },
					func(b *logbook.Book) string { return views(b.AllReferring(kind, field, id)) })
			}
		}
	}
	for _, kind := range []logbook.Kind{"clip", "take"} {
		all = append(all,
			func(b *logbook.Book) string { return views(b.Records(kind)) },
			func(b *logbook.Book) string { return views(b.AllRecords(kind)) },
			func(b *logbook.Book) string { return views(b.Apart(kind)) },
			func(b *logbook.Book) string {
				some, _ := b.Stretch(kind, 0, 100)
				slices.SortFunc(some, logbook.ByPlace)
				return views(some)
			})
	}
	return append(all,
		func(b *logbook.Book) string { return fmt.Sprint(b.Kinds(), len(b.Refused()), b.Holds()) },
		func(b *logbook.Book) string { return fmt.Sprint(b.Held(logtest.Dot(1, 3))) })
}

func TestWhatWasSeenTellsWhichAnswersStand(t *testing.T) {
	stood := 0
	rapid.Check(t, func(t *rapid.T) {
		edits := drawTangle(t)
		l, err := logbook.OpenLog(logbook.NewMemory(), logtest.Production, rules, logtest.Lines(1))
		if err != nil {
			t.Fatal(err)
		}
		half := rapid.IntRange(0, len(edits)).Draw(t, "half")
		freeze := func(edits []*logbook.Edit) *logbook.Frozen {
			if _, err := l.Push(edits, logtest.ID(50), 1); err != nil {
				t.Fatal(err)
			}
			f, err := l.Freeze()
			if err != nil {
				t.Fatal(err)
			}
			return f
		}
		before := freeze(edits[:half])
		all := questions()
		answers, seen := make([]string, len(all)), make([]logbook.Seen, len(all))
		before.Read(func(b *logbook.Book) {
			noted := b.Noted()
			for i, ask := range all {
				seen[i] = noted.Noting(func() { answers[i] = ask(noted) })
			}
		})
		before.Close()
		after := freeze(edits[half:])
		defer after.Close()
		changed, ok, err := after.ChangedSince(before.Head())
		if !ok || err != nil {
			t.Fatal(ok, err)
		}
		after.Read(func(b *logbook.Book) {
			for i, ask := range all {
				if seen[i].Meets(changed) {
					continue
				}
				stood++
				if now := ask(b); now != answers[i] {
					t.Fatalf("answer %d of what nothing changed was\n%s\nand is\n%s", i, answers[i], now)
				}
			}
		})
	})
	if stood == 0 {
		t.Error("no answer stood")
	}
}

// Bringing a record back sets one field of it, and yet others read as one with it again.
func TestARecordThatIsBroughtBackChangesItsTwins(t *testing.T) {
	l := logtest.Open(t, logbook.NewMemory(), rules, 1)
	n := uint64(0)
	write := func(record int, field string, value logbook.Value, over ...logbook.Dot) logbook.Dot {
		n++
		e := logtest.ClipEdit(1, n, field, value, over...)
		e.Record = logtest.ID(record)
		push(t, l, e, logbook.AnswerTaken)
		return e.Dot
	}
	write(3, "kelvin", "3200")
	write(2, "kelvin", "5600")
	write(2, logbook.SamePrefix+logtest.ID(3).String(), `"one"`)
	struck := write(2, logbook.DeletedField, "true")
	f, err := l.Freeze()
	if err != nil {
		t.Fatal(err)
	}
	var before string
	var seen logbook.Seen
	read := func(b *logbook.Book) string {
		v, _ := b.RecordOf("clip", logtest.ID(3))
		return about(v)
	}
	f.Read(func(b *logbook.Book) {
		b = b.Noted()
		seen = b.Noting(func() { before = read(b) })
	})
	f.Close()
	write(2, logbook.DeletedField, logbook.Null, struck)
	after, err := l.Freeze()
	if err != nil {
		t.Fatal(err)
	}
	defer after.Close()
	changed, ok, err := after.ChangedSince(f.Head())
	if !ok || err != nil || !seen.Meets(changed) {
		t.Errorf("got %v, %v; want the answer to be another", ok, err)
	}
	after.Read(func(b *logbook.Book) {
		if read(b) == before {
			t.Errorf("it reads as before: %s", before)
		}
	})
}

func TestWhoIsGivenAnAnswerOfAnotherRestsOnTheSame(t *testing.T) {
	b := logtest.Book(rules, logtest.ClipEdit(1, 1, "kelvin", "3200")).Noted()
	kept := map[string]logbook.Rested[bool]{}
	ask := func() logbook.Seen {
		return b.Noting(func() {
			logbook.Resting(b, kept, "is it here", func() bool {
				_, found := b.Record(logtest.ID(2))
				return found
			})
		})
	}
	first, second := ask(), ask()
	if len(first) == 0 || !slices.Equal(first, second) {
		t.Errorf("the first rests on %v, the second on %v", first, second)
	}
	if nothing := b.Noting(func() {}); len(nothing) > 0 || nothing.Meets(first) || !first.Meets(second) {
		t.Errorf("got %v for nothing", nothing)
	}
}

func TestOfAnotherLogNothingIsKnownToStand(t *testing.T) {
	l := logtest.Open(t, logbook.NewMemory(), rules, 1)
	push(t, l, logtest.ClipEdit(1, 1, "kelvin", "3200"), logbook.AnswerTaken)
	f, err := l.Freeze()
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	later := f.Head()
	later.Seq++
	for _, head := range []logbook.Head{{}, later} {
		if _, ok, err := f.ChangedSince(head); ok || err != nil {
			t.Errorf("got %v, %v for %v", ok, err, head)
		}
	}
	if changed, ok, err := f.ChangedSince(f.Head()); !ok || err != nil || len(changed) > 0 {
		t.Errorf("got %v, %v, %v since now", changed, ok, err)
	}
}
