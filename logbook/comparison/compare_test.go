package comparison_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/comparison"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/states"
)

// A job is a log of a few set-ups, to which people go on adding.
type job struct {
	*testing.T
	store  logbook.Store
	log    *logbook.Log
	chance *rand.Rand
	n      uint64
}

func newJob(t *testing.T, seed uint64) *job {
	j := &job{T: t, store: logbook.NewMemory(), chance: rand.New(rand.NewPCG(seed, 1))}
	var err error
	if j.log, err = logbook.OpenLog(j.store, growth.Production, kinds.Rules, growth.NextLine); err != nil {
		t.Fatal(err)
	}
	j.push(growth.LongJob(1)[:170]...)
	return j
}

func (j *job) push(edits ...*logbook.Edit) {
	j.Helper()
	if _, err := j.log.Push(edits, growth.Production, 9); err != nil {
		j.Fatal(err)
	}
}

func (j *job) state() states.State {
	j.Helper()
	head, err := j.log.Head()
	if err != nil {
		j.Fatal(err)
	}
	var digests states.Digests
	s, err := digests.At(j.log.Page, growth.Production, head)
	if err != nil {
		j.Fatal(err)
	}
	return s
}

func (j *job) side(s states.State) comparison.Side {
	return comparison.Side{State: s, Lend: func() (logbook.Lender, func(), error) {
		b, err := states.Book(j.store, growth.Production, kinds.Rules, s)
		return b, func() {}, err
	}}
}

func (j *job) compare(before, after states.State) *comparison.Comparison {
	j.Helper()
	c, err := comparison.Of(j.side(before), j.side(after), colorlog.Scope{}, j.log.Get)
	if err != nil {
		j.Fatal(err)
	}
	return c
}

// edits makes an edit that replaces what a record shows of a field.
func (j *job) edit(by string, v logbook.View, field string, value logbook.Value) *logbook.Edit {
	j.n++
	return &logbook.Edit{Production: growth.Production, Kind: v.Kind, Record: v.ID, Device: growth.Production, By: by,
		Dot: logbook.Dot{Line: logbook.Line{9, 9}, N: j.n}, At: logbook.Millis(1_990_000_000_000 + j.n*1000),
		Set: []logbook.Change{logbook.Replace(v, field, value)}}
}

func dotsIn(c *comparison.Comparison) (all []string) {
	for _, e := range c.Edits {
		all = append(all, e.Dot)
	}
	slices.Sort(all)
	return all
}

// The columns that show a field of a clip or of a take, by kind and field.
var shown = map[string]string{"clip lens": "lens", "clip filters": "filters", "clip card": "card",
	"clip shutter": "shutter", "take wanted": "wanted"}

// A comparison lists exactly the edits that were made, and of each cell what stood there, what stands there and whose edit
// it was; both ways round.
func TestAComparisonFindsExactlyTheEditsThatWereMade(t *testing.T) {
	for seed := range uint64(6) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			j := newJob(t, seed)
			before := j.state()
			was, made, by := map[string]string{}, map[string]string{}, map[string]string{}
			var dots []string
			for range 1 + j.chance.IntN(8) {
				var e *logbook.Edit
				j.log.Read(func(b *logbook.Book) {
					fields := []string{"clip lens", "clip filters", "clip card", "clip shutter", "take wanted"}
					kind, field, _ := strings.Cut(fields[j.chance.IntN(len(fields))], " ")
					records := b.Records(logbook.Kind(kind))
					v := records[j.chance.IntN(len(records))]
					value := logbook.TextValue(fmt.Sprint("new ", j.n))
					if kind == "take" {
						value = logbook.Value([]string{"true", "false"}[j.chance.IntN(2)])
					}
					e = j.edit(fmt.Sprint("person ", j.n), v, field, value)
				})
				j.push(e)
				dots = append(dots, e.Dot.String())
				by[e.Dot.String()] = e.By
			}
			after := j.state()
			for side, s := range map[*map[string]string]states.State{&was: before, &made: after} {
				b, err := states.Book(j.store, growth.Production, kinds.Rules, s)
				if err != nil {
					t.Fatal(err)
				}
				*side = cells(t, b)
			}
			slices.Sort(dots)
			there, back := j.compare(before, after), j.compare(after, before)
			for _, c := range []*comparison.Comparison{there, back} {
				if got := dotsIn(c); !slices.Equal(got, dots) {
					t.Errorf("it lists the edits %v, want %v", got, dots)
				}
			}
			j.holds(there, was, made, by)
			j.holds(back, made, was, by)
			if same := j.compare(after, after); len(same.Clips)+len(same.Edits) != 0 {
				t.Errorf("a state differs from itself: %+v", same)
			}
		})
	}
}

// cells are all cells of a book's rows, by clip, take and column.
func cells(t *testing.T, b *logbook.Book) map[string]string {
	t.Helper()
	all := map[string]string{}
	for row, err := range colorlog.Rows(b, colorlog.Scope{}) {
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range colorlog.Columns() {
			if c.Name != "program" && !strings.HasSuffix(c.Name, "because") || c.Name == "accepted because" {
				all[row.Find.ClipRecord.String()+" "+row.Find.Take.Number.String()+" "+c.Name] = c.Cell(&colorlog.Head{}, &row)
			}
		}
	}
	return all
}

// holds fails unless a comparison tells each cell that differs, and no other, each with an edit of the field that it shows.
func (j *job) holds(c *comparison.Comparison, was, is, by map[string]string) {
	j.Helper()
	told := map[string]bool{}
	edits := map[string]comparison.EditChange{}
	for _, e := range c.Edits {
		edits[e.Dot] = e
		if e.By != by[e.Dot] || len(e.Fields) != 1 {
			j.Errorf("edit %s is told as by %s, of %v", e.Dot, e.By, e.Fields)
		}
	}
	for _, clip := range c.Clips {
		for _, cell := range clip.Cells {
			key := clip.Clip.String() + " " + clip.Take + " " + cell.Column
			told[key] = true
			if cell.Before != was[key] || cell.After != is[key] || cell.Before == cell.After || len(cell.Edits) == 0 {
				j.Errorf("%s: told %+v, want %q -> %q", key, cell, was[key], is[key])
			}
			for _, d := range cell.Edits {
				if e := edits[d]; shown[string(e.Kind)+" "+e.Fields[0]] != cell.Column {
					j.Errorf("%s: told as of %s, which sets %s %v", key, d, e.Kind, e.Fields)
				}
			}
		}
	}
	for key := range was {
		if was[key] != is[key] && !told[key] {
			j.Errorf("%s: %q -> %q is not told", key, was[key], is[key])
		}
	}
}

// Rows that are new and rows that are gone are told as such, computed cells name the records that they rest on,
// and a reason stands where one was given.
func TestAComparisonTellsRowsReasonsAndWhatWasComputed(t *testing.T) {
	j := newJob(t, 1)
	before := j.state()
	var body, clip, reading logbook.View
	j.log.Read(func(b *logbook.Book) {
		body, clip, reading = b.Records(kinds.Body)[0], b.Records(kinds.Clip)[0], b.Records(kinds.Reading)[0]
	})
	label, struck := j.edit("DIT", body, "label", `"the old one"`), j.edit("DIT", clip, logbook.DeletedField, "true")
	out := j.edit("gaffer", reading, "struckOut", `{"reason":"the dome was off"}`)
	meter := j.edit("gaffer", body, "name", `"spare"`)
	meter.Kind, meter.Record = kinds.Meter, logbook.ID{7}
	j.push(label, struck, out, meter)
	c := j.compare(before, j.state())
	changes := map[string]int{}
	for _, row := range c.Clips {
		changes[row.Change]++
		if row.Change == "gone" && (row.Clip != clip.ID || !slices.Equal(row.Edits, []string{struck.Dot.String()})) {
			t.Errorf("gone is %+v", row)
		}
		for _, cell := range row.Cells {
			if cell.Column == "body" && !slices.Contains(cell.Edits, label.Dot.String()) {
				t.Errorf("the name of the body changed by %v, want %s", cell.Edits, label.Dot)
			}
		}
	}
	if changes["gone"] != 1 || changes["changed"] == 0 || changes["new"] != 0 {
		t.Errorf("got %v", changes)
	}
	for _, e := range c.Edits {
		if want := map[string]string{out.Dot.String(): "the dome was off"}[e.Dot]; e.Reason != want {
			t.Errorf("the reason of %s is %q, want %q", e.Dot, e.Reason, want)
		}
		if (e.Rows == 0) != (e.Dot == meter.Dot.String()) {
			t.Errorf("%d rows differ because of %s %v", e.Rows, e.Kind, e.Fields)
		}
	}
	back := j.compare(j.state(), before)
	n := slices.IndexFunc(back.Clips, func(c comparison.ClipChange) bool { return c.Change == "new" })
	if n < 0 || back.Clips[n].Clip != clip.ID {
		t.Error("backwards the clip is not new")
	}
}

// An answer stands in the cell of what it answers: whose it is, is told as well.
func TestAnAnswerIsBehindTheNotesOfARow(t *testing.T) {
	j := newJob(t, 1)
	before := j.state()
	var clip logbook.View
	j.log.Read(func(b *logbook.Book) { clip = b.Records(kinds.Clip)[0] })
	note := func(n byte, set ...logbook.Change) *logbook.Edit {
		j.n++
		return &logbook.Edit{Production: growth.Production, Kind: kinds.Note, Record: logbook.ID{0: 9, 6: 0x70, 8: 0x80, 15: n},
			Device: growth.Production, By: fmt.Sprint("hand ", n), Dot: logbook.Dot{Line: logbook.Line{9, 9}, N: j.n},
			At: logbook.Millis(1_990_000_000_000 + j.n*1000), Set: append(set, logbook.Change{Field: "about", Value: logbook.IDValue(clip.ID)})}
	}
	asked := note(1, logbook.Change{Field: "text", Value: `"why?"`}, logbook.Change{Field: "to", Value: `{"as":"set"}`})
	answer := note(2, logbook.Change{Field: "text", Value: `"so"`}, logbook.Change{Field: "answers", Value: logbook.IDValue(asked.Record)})
	j.push(asked, answer)
	for _, row := range j.compare(before, j.state()).Clips {
		for _, cell := range row.Cells {
			if cell.Column == "notes" && len(cell.Edits) == 2 {
				return
			}
			t.Logf("%+v", cell)
		}
	}
	t.Error("no cell of notes names the edits of note and answer")
}
