//go:build !js

package deviation

import (
	"maps"
	"reflect"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

func keptLog(t *testing.T) *logbook.Log {
	t.Helper()
	l, err := logbook.OpenLog(logbook.NewMemory(), growth.Production, kinds.Rules, logtest.Lines(1))
	if err != nil {
		t.Fatal(err)
	}
	var edits []*logbook.Edit
	for e := range (growth.Size{Name: "some days", Edits: 4000, Devices: 20}).All() {
		edits = append(edits, e)
	}
	if _, err := l.Push(edits, logbook.ID{15: 1}, 1); err != nil {
		t.Fatal(err)
	}
	return l
}

func (k *Kept) ask(t *testing.T, l *logbook.Log) []Deviation {
	t.Helper()
	const now = 1_950_000_000_000
	f, err := l.Freeze()
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	found, err := k.Of(f, Scope{}, now)
	if err != nil {
		t.Fatal(err)
	}
	if want := Of(f, Scope{}, now); !reflect.DeepEqual(found, want) {
		t.Errorf("%d are kept, and %d found anew; they differ", len(found), len(want))
	}
	clips, err := k.OffClips(f, Scope{}, now)
	if want := OffClips(f, Scope{}, now); err != nil || !reflect.DeepEqual(clips, want) {
		t.Errorf("of %d set-ups clips are kept, %v, and of %d found anew; they differ", len(clips), err, len(want))
	}
	return found
}

func TestANewClipCostsItsSetUpAlone(t *testing.T) {
	l := keptLog(t)
	var k Kept
	if found := k.ask(t, l); len(found) == 0 || len(k.setUps) < 20 {
		t.Fatalf("%d findings of %d set-ups are too few", len(found), len(k.setUps))
	}
	var last logbook.View
	var changes []logbook.Change
	l.Read(func(b *logbook.Book) {
		for _, v := range b.Records(kinds.Clip) {
			last = v
		}
		for field, value := range last.Values() {
			if field == "name" {
				value = `{"from":"counted","text":"Z999C001"}`
			}
			changes = append(changes, logbook.Change{Field: field, Value: value})
		}
		last, _ = b.RecordOf(kinds.SetUp, last.Ref("setUp"))
	})
	before := maps.Clone(k.setUps)
	e := &logbook.Edit{Production: growth.Production, Kind: kinds.Clip, Record: logbook.ID{1, 6: 0x70, 8: 0x80, 15: 7},
		Device: logbook.ID{15: 1}, Dot: logbook.Dot{Line: logbook.Line{0xdd}, N: 1}, At: 1_940_000_000_000, Set: changes}
	if answers, err := l.Push([]*logbook.Edit{e}, e.Device, e.At); err != nil || answers[0].Outcome != logbook.AnswerTaken {
		t.Fatal(answers, err)
	}
	k.ask(t, l)
	e.Dot.N, e.Set = 2, []logbook.Change{{Field: "startedAt", Value: `"2031-03-04T05:06:07Z"`}}
	if answers, err := l.Push([]*logbook.Edit{e}, e.Device, e.At); err != nil || answers[0].Outcome != logbook.AnswerTaken {
		t.Fatal(answers, err)
	}
	k.ask(t, l) // the clip is put in order by another time
	for id, s := range k.setUps {
		if anew := s != before[id]; anew != (id == last.ID) {
			t.Errorf("a clip of %s: set-up %s was looked at anew: %t", last.ID, id, anew)
		}
	}
}

// What is taken of the other set-ups of a day is asked again where one of their clips changes.
func TestAClipElsewhereOfTheDayIsSeen(t *testing.T) {
	l := keptLog(t)
	var clip, here, there logbook.View // the last clip, its set-up, and another one of the day
	l.Read(func(b *logbook.Book) {
		for _, v := range b.Records(kinds.Clip) {
			clip = v
		}
		here, _ = b.RecordOf(kinds.SetUp, clip.Ref("setUp"))
		for _, v := range b.Referring(kinds.SetUp, "day", here.Ref("day")) {
			if v.ID != here.ID {
				there = v
			}
		}
	})
	if !there.Known() {
		t.Fatal("the last day has one set-up")
	}
	n := uint64(0)
	write := func(record logbook.ID, at logbook.Millis, set ...logbook.Change) {
		n++
		e := &logbook.Edit{Production: growth.Production, Kind: kinds.Clip, Record: record, Device: logbook.ID{15: 1},
			Dot: logbook.Dot{Line: logbook.Line{0xdd}, N: n}, At: at, Set: set}
		if answers, err := l.Push([]*logbook.Edit{e}, e.Device, e.At); err != nil || answers[0].Outcome != logbook.AnswerTaken {
			t.Fatal(answers, err)
		}
	}
	named := []logbook.Change{{Field: "setUp", Value: logbook.TextValue(there.ID.String())}}
	l.Read(func(b *logbook.Book) {
		v, _ := b.RecordOf(kinds.Clip, clip.ID)
		for _, field := range []string{"camera", "card", "name"} {
			named = append(named, logbook.Change{Field: field, Value: v.Value(field)})
		}
	})
	var k Kept
	before := k.ask(t, l)
	write(logbook.ID{1, 6: 0x70, 8: 0x80, 15: 7}, there.CreatedAt()+1, named...) // before the last clip here
	after := k.ask(t, l)
	twice := func(all []Deviation) (n int) {
		for _, d := range all {
			if d.Kind == ClipNameTwice && d.SetUp == here.ID {
				n++
			}
		}
		return n
	}
	if twice(after) == twice(before) {
		t.Errorf("a clip of set-up %s has the name of one of %s, and nothing says so there", there.ID, here.ID)
	}
}

func TestWhatIsKeptHasABound(t *testing.T) {
	l := keptLog(t)
	k := Kept{held: mostKept - 10, setUps: map[logbook.ID]*keptSetUp{}}
	k.setUps[logbook.ID{1}] = &keptSetUp{found: make([]Deviation, mostKept-10)}
	f, err := l.Freeze()
	if err != nil {
		t.Fatal(err)
	}
	k.head = f.Head() // as if it had been asked before
	f.Close()
	k.ask(t, l)
	held := 0
	for _, s := range k.setUps {
		held += len(s.found)
	}
	if k.setUps[logbook.ID{1}] != nil || held != k.held || held > mostKept {
		t.Errorf("%d deviations are kept, and counted as %d; at most %d", held, k.held, mostKept)
	}
}
