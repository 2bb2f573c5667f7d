package logbook_test

import (
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// drawTangle makes edits of a few records of two kinds, some under the same id, that refer to
// each other, are answered to be one, are struck out, and name what came, comes or never will.
func drawTangle(t *rapid.T) []*logbook.Edit {
	next := map[logbook.Line]uint64{}
	record := rapid.Custom(func(t *rapid.T) logbook.ID { return logtest.ID(2 + rapid.IntRange(0, 2).Draw(t, "record")) })
	dot := rapid.Custom(func(t *rapid.T) logbook.Dot {
		return logtest.Dot(rapid.IntRange(0, 3).Draw(t, "line"), rapid.Uint64Range(1, 12).Draw(t, "n"))
	})
	edits := make([]*logbook.Edit, rapid.IntRange(1, 25).Draw(t, "edits"))
	wrote := map[logbook.FieldRef][]logbook.Dot{}
	for i := range edits {
		line := logtest.Line(rapid.IntRange(0, 3).Draw(t, "line"))
		next[line]++
		e := &logbook.Edit{Production: logtest.Production, Device: logtest.ID(50), Record: record.Draw(t, "record"),
			Kind: rapid.SampledFrom([]logbook.Kind{"clip", "clip", "take"}).Draw(t, "kind"),
			Dot:  logbook.Dot{Line: line, N: next[line]}, At: logbook.Millis(rapid.IntRange(0, 5).Draw(t, "at")), By: "2nd AC"}
		fields := map[string]logbook.Value{
			"kelvin": logbook.Value(rapid.SampledFrom([]string{"3200", "3200.0", "5600", "-3", "null"}).Draw(t, "kelvin")),
			"of":     logbook.TextValue(record.Draw(t, "of").String()),
			"takes/" + record.Draw(t, "key").String(): logbook.Value(rapid.SampledFrom([]string{"true", "null"}).Draw(t, "named")),
			logbook.SamePrefix + record.Draw(t, "same").String(): logbook.TextValue(
				rapid.SampledFrom([]string{"one", "one", "two"}).Draw(t, "answer")),
			logbook.DeletedField: logbook.Value(rapid.SampledFrom([]string{"true", "null"}).Draw(t, "deleted")),
		}
		names := slices.Sorted(maps.Keys(fields))
		for _, field := range rapid.SliceOfNDistinct(rapid.SampledFrom(names), 1, 3, rapid.ID[string]).Draw(t, "fields") {
			at := logbook.FieldRef{RecordRef: logbook.RecordRef{Kind: e.Kind, Record: e.Record}, Field: field}
			c := logbook.Change{Field: field, Value: fields[field]}
			if known := wrote[at]; len(known) > 0 && rapid.Bool().Draw(t, "replaces") {
				c.Over = []logbook.Dot{rapid.SampledFrom(known).Draw(t, "replaced")}
			} else {
				c.Over = rapid.SliceOfNDistinct(dot, 0, 2, rapid.ID[logbook.Dot]).Draw(t, "over")
			}
			wrote[at] = append(wrote[at], e.Dot)
			e.Set = append(e.Set, c)
		}
		if _, err := logbook.EncodeEdit(e); err != nil { // which orders what it names
			t.Fatal(err)
		}
		edits[i] = e
	}
	return rapid.Permutation(edits).Draw(t, "order")
}

// allOf writes down every answer of a book.
func allOf(b *logbook.Book, edits []*logbook.Edit) string {
	var s strings.Builder
	s.WriteString(describe(b))
	for _, kind := range []logbook.Kind{"clip", "take"} {
		for _, v := range b.Apart(kind) {
			fmt.Fprintf(&s, "apart %s %s\n", kind, about(v))
		}
		for n := range 4 {
			id := logtest.ID(2 + n)
			one, found := b.RecordOf(kind, id)
			alone, _ := b.Alone(kind, id)
			fmt.Fprintf(&s, "%s %s is %s, %v %s, alone %s\n", kind, id, b.Resolve(id), found, about(one), about(alone))
			for _, field := range []string{"of", "takes", "kelvin"} {
				for _, v := range b.AllReferring(kind, field, id) {
					fmt.Fprintf(&s, "%s of %s to %s: %s\n", field, kind, id, about(v))
				}
				fmt.Fprintln(&s, len(b.Referring(kind, field, id)))
			}
		}
		for _, v := range b.Records(kind) {
			fmt.Fprintf(&s, "%s stands: %s\n", kind, about(v))
		}
		for v := range b.From(kind, logbook.Place{Made: 1, ID: logtest.ID(3)}, true) {
			fmt.Fprintf(&s, "%s in its place: %s, led to %d\n", kind, about(v), len(v.Led()))
			for other, answer := range v.Answers() {
				fmt.Fprintf(&s, "%s of %s\n", answer, about(other))
			}
		}
	}
	for n := range 4 {
		v, found := b.Record(logtest.ID(2 + n))
		fmt.Fprintf(&s, "of any kind: %v %s\n", found, about(v))
	}
	var loose []string
	for e := range b.Applied() {
		loose = append(loose, "applied "+e.Dot.String())
	}
	for d, at := range b.Waiting() {
		loose = append(loose, fmt.Sprintf("waits %s %v", d, at))
	}
	sort.Strings(loose)
	fmt.Fprintln(&s, loose)
	for _, e := range edits {
		refusal, refused := b.Refusal(e.Dot)
		fmt.Fprintln(&s, e.Dot, b.Held(e.Dot), refused, refusal.Reason)
	}
	holds := b.Holds()
	for _, line := range holds.Lines() {
		fmt.Fprintln(&s, "holds", line, holds[line])
	}
	return s.String()
}

func about(v logbook.View) string {
	if !v.Known() {
		return "none"
	}
	s := fmt.Sprintf("%s %s by %s at %d, %s, of %s, keys %v, parts %d, %v, drafts %v;", v.ID, v.ETag(), v.CreatedDot(), v.CreatedAt(),
		v.Text("kelvin")+string(v.Value("kelvin")), v.Ref("of"), v.Keys("takes"), len(v.Parts()), v.EverSet("kelvin"),
		v.Drafts([]logbook.Change{logbook.Strike(v)}))
	for _, e := range v.Edits() {
		s += " " + e.Dot.String()
	}
	for _, f := range v.Conflicts() {
		s += fmt.Sprintf("; %s of %d", f.Name, len(f.Heads))
	}
	for name, value := range v.Values() {
		s += fmt.Sprintf("; %s=%s", name, value)
	}
	return s
}

// frozenAt is a frozen book with the edits that were held then.
type frozenAt struct {
	*logbook.Frozen
	held []*logbook.Edit
}

func (f frozenAt) compare(edits []*logbook.Edit) error {
	want, got := allOf(logtest.Book(rules, f.held...), edits), ""
	f.Read(func(b *logbook.Book) { got = allOf(b, edits) })
	if got != want {
		return fmt.Errorf("frozen after %d edits it answers\n%s\nwant\n%s", len(f.held), got, want)
	}
	return nil
}

func TestFrozenBook(t *testing.T) {
	t.Run("it answers as the book of the edits before it, whatever comes", rapid.MakeCheck(func(t *rapid.T) {
		edits := drawTangle(t)
		l, err := logbook.OpenLog(logbook.NewMemory(), logtest.Production, rules, logtest.Lines(1))
		if err != nil {
			t.Fatal(err)
		}
		var frozen []frozenAt
		for at := 0; at < len(edits); {
			switch rapid.IntRange(0, 3).Draw(t, "step") {
			case 0:
				f, err := l.Freeze()
				if err != nil || f.Head().Seq != logbook.Seq(at) {
					t.Fatalf("frozen after %d edits at %d: %v", at, f.Head().Seq, err)
				}
				frozen = append(frozen, frozenAt{f, edits[:at]})
			case 1:
				if len(frozen) > 1 {
					i := rapid.IntRange(0, len(frozen)-1).Draw(t, "closed")
					frozen[i].Close()
					frozen = slices.Delete(frozen, i, i+1)
				}
			default:
				to := min(len(edits), at+rapid.IntRange(1, 6).Draw(t, "pushed"))
				if _, err := l.Push(edits[at:to], logtest.ID(50), 1); err != nil {
					t.Fatal(err)
				}
				at = to
			}
			for _, f := range frozen {
				if err := f.compare(edits); err != nil {
					t.Fatal(err)
				}
			}
		}
		live, want := "", allOf(logtest.Book(rules, edits...), edits)
		l.Read(func(b *logbook.Book) { live = allOf(b, edits) })
		if live != want {
			t.Fatalf("the live book answers\n%s\nwant\n%s", live, want)
		}
	}))
	t.Run("it is that of a head while many push", frozenWhileManyPush)
	t.Run("what is stored and not merged yet is in it", frozenHoldsWhatIsStored)
	t.Run("nothing is kept once it is closed", nothingIsKeptOnceClosed)
}

func frozenWhileManyPush(t *testing.T) {
	store := logbook.NewMemory()
	l := logtest.Open(t, store, rules, 1)
	var phones, readers sync.WaitGroup
	for line := range 4 {
		phones.Go(func() {
			for n := range uint64(150) {
				e := logtest.ClipEdit(line, n+1, "kelvin", logbook.Value(fmt.Sprint(n)))
				e.Record = logtest.ID(2 + int(n%7))
				if _, err := l.Push([]*logbook.Edit{e}, e.Device, 1); err != nil {
					t.Error(err)
				}
			}
		})
	}
	for range 2 {
		readers.Go(func() {
			for range 20 {
				f, err := l.Freeze()
				if err != nil {
					t.Error(err)
					return
				}
				held, err := store.Read(logtest.Production, 0, 1<<30)
				if err != nil {
					t.Error(err)
					return
				}
				at := frozenAt{Frozen: f}
				for _, s := range held[:f.Head().Seq] {
					e, err := logbook.DecodeEdit(s.Bytes)
					if err != nil {
						t.Error(err)
						return
					}
					at.held = append(at.held, e)
				}
				if err := at.compare(at.held); err != nil {
					t.Error(err)
				}
				f.Close()
				f.Close() // a second time does nothing
			}
		})
	}
	phones.Wait()
	readers.Wait()
}

// slowToReturn is a store where a push waits between its commit and its answer.
type slowToReturn struct {
	logbook.Store
	stored, goOn chan struct{}
}

func (s slowToReturn) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	receipts, err := s.Store.Append(production, entries)
	if len(entries) == 2 {
		close(s.stored)
		<-s.goOn
	}
	return receipts, err
}

func frozenHoldsWhatIsStored(t *testing.T) {
	store := slowToReturn{logbook.NewMemory(), make(chan struct{}), make(chan struct{})}
	l := logtest.Open(t, store, rules, 1)
	edits := []*logbook.Edit{
		logtest.ClipEdit(0, 1, "kelvin", "3200"), logtest.ClipEdit(0, 2, "kelvin", "-1"), logtest.ClipEdit(1, 1, "kelvin", "5600")}
	var slow sync.WaitGroup
	var answers []logbook.Answer
	slow.Go(func() { answers, _ = l.Push(edits[:2], logtest.ID(50), 1) })
	<-store.stored
	if _, err := l.Push(edits[2:], logtest.ID(51), 1); err != nil {
		t.Fatal(err)
	}
	changed := l.Changed()
	f, err := l.Freeze()
	if err != nil || f.Head().Seq != 3 {
		t.Fatalf("frozen at %d (%v), want 3", f.Head().Seq, err)
	}
	select {
	case <-changed:
	default:
		t.Error("what freezing merged wakes nobody")
	}
	close(store.goOn)
	slow.Wait()
	if len(answers) != 2 || answers[0].Outcome != logbook.AnswerTaken ||
		answers[1].Outcome != logbook.AnswerRefused || answers[1].Reason == "" {
		t.Errorf("the push that was overtaken is answered %v", answers)
	}
	if err := (frozenAt{f, edits}).compare(edits); err != nil {
		t.Error(err)
	}
}

func nothingIsKeptOnceClosed(t *testing.T) {
	l := logtest.Open(t, logbook.NewMemory(), rules, 1)
	for range 3 {
		f, err := l.Freeze()
		if err != nil {
			t.Fatal(err)
		}
		if l.Frozen() != 1 {
			t.Errorf("%d books are frozen, want 1", l.Frozen())
		}
		f.Close()
	}
	if l.Frozen() != 0 {
		t.Errorf("%d books are frozen, want none", l.Frozen())
	}
}
