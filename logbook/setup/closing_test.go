package setup_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/setup"
)

// late says which edits of a record were entered after its day was closed, by their place in
// its history.
func late(d *amendtest.Desk, v logbook.View) (places []int) {
	day, ok := setup.DayOf(d.Book, v)
	if !ok {
		return nil
	}
	for _, e := range setup.AfterClosing(day, v) {
		for i, known := range v.Edits() {
			if known.Dot == e.Dot {
				places = append(places, i)
			}
		}
	}
	return places
}

func TestWhatIsEnteredAfterADayWasClosed(t *testing.T) {
	type story struct {
		*amendtest.Desk
		day, take logbook.View
	}
	minute := func(s *story) { s.Now += 60_000 }
	change := func(s *story, suffix string) { minute(s); s.take, _ = s.Patch(s.take, `{"suffix":"`+suffix+`"}`) }
	closed := func(s *story, said string) { minute(s); s.day, _ = s.Patch(s.day, `{"closed":`+said+`}`) }
	for _, c := range []struct {
		name string
		told func(s *story)
		want []int // of the take's edits
	}{
		{"an open day", func(s *story) { change(s, "a") }, nil},
		{"before and after", func(s *story) { change(s, "a"); closed(s, "true"); change(s, "b") }, []int{2}},
		{"at the same moment", func(s *story) {
			closed(s, "true")
			s.take, _ = s.Patch(s.take, `{"suffix":"a"}`)
		}, nil},
		{"opened again", func(s *story) { closed(s, "true"); change(s, "a"); closed(s, "false"); change(s, "b") }, nil},
		{"opened again by undoing it", func(s *story) { closed(s, "true"); change(s, "a"); closed(s, "null") }, nil},
		{"closed again: only what came after the last closing", func(s *story) {
			closed(s, "true")
			change(s, "a")
			closed(s, "false")
			closed(s, "true")
			change(s, "b")
		}, []int{2}},
		{"closed by two people: after the later of them", func(s *story) {
			closed(s, "true")
			change(s, "a")
			minute(s)
			s.Line = 2
			s.Apply(logbook.Draft{Kind: kinds.Day, Record: s.day.ID, Set: []logbook.Change{{Field: "closed", Value: "true"}}})
			s.Line = 1
			change(s, "b")
		}, []int{2}},
		{"a conflict over it is an open day", func(s *story) {
			closed(s, "true")
			change(s, "a")
			v := s.View(s.day.ID)
			s.Line = 2
			s.Apply(logbook.Draft{Kind: kinds.Day, Record: v.ID, Set: []logbook.Change{{Field: "closed", Value: "false"}}})
		}, nil},
		{"a conflict over it, closed last", func(s *story) {
			closed(s, "false")
			v := s.View(s.day.ID)
			minute(s)
			s.Line = 2
			s.Apply(logbook.Draft{Kind: kinds.Day, Record: v.ID, Set: []logbook.Change{{Field: "closed", Value: "true"}}})
			change(s, "a")
		}, nil},
		{"entered before, by a clock that is fast", func(s *story) {
			closed(s, "true")
			c := logbook.Replace(s.take, "suffix", `"a"`)
			e := &logbook.Edit{Production: s.Book.Production(), Kind: kinds.Take, Record: s.take.ID, Device: logtest.ID(90),
				Dot: logtest.Dot(9, 1), At: s.Now + 600_000, Offset: -900_000, By: "phone", Set: []logbook.Change{c}}
			if err := s.Book.Apply(e); err != nil {
				s.T.Fatal(err)
			}
		}, nil},
		{"what an offline phone entered before and brings in late", func(s *story) {
			closed(s, "true")
			s.Line, s.Now = 2, s.Now-30_000
			s.take, _ = s.Patch(s.take, `{"suffix":"a"}`)
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &story{Desk: amendtest.New(t)}
			s.day = s.Make(kinds.Day, `{"number":1,"date":"2026-03-04"}`)
			setUp := s.Make(kinds.SetUp, `{"name":"A","day":`+string(logbook.IDValue(s.day.ID))+`}`)
			s.take = s.Make(kinds.Take, `{"number":1,"setUp":`+string(logbook.IDValue(setUp.ID))+`}`)
			c.told(s)
			got := late(s.Desk, s.View(s.take.ID))
			if len(got) != len(c.want) || len(got) > 0 && got[0] != c.want[0] {
				t.Errorf("got the edits %v, want %v", got, c.want)
			}
		})
	}
}

func TestTheDayOfARecord(t *testing.T) {
	d := amendtest.New(t)
	day := d.Make(kinds.Day, `{"number":1,"date":"2026-03-04"}`)
	in := func(v logbook.View) string { return string(logbook.IDValue(v.ID)) }
	setUp := d.Make(kinds.SetUp, `{"name":"A","day":`+in(day)+`}`)
	body := d.Body("")
	camera := d.Make(kinds.Camera, `{"letter":"A","body":{"body":`+in(body)+`}}`)
	clip := d.Make(kinds.Clip, `{"whiteMode":"auto","setUp":`+in(setUp)+`,"camera":`+in(camera)+`,"body":`+in(body)+`}`)
	const card = `,"rgb":{"as":"percent","r":40,"g":40,"b":40,"encoding":"bt1886","primaries":"bt709"},"light":{"as":"notMeasured"},` +
		`"settings":{"whiteMode":"auto"},"takenAt":"2026-03-04T05:06:07Z"`
	for _, v := range []logbook.View{
		day, setUp, clip,
		d.Make(kinds.Light, `{"name":"key","role":"key","setUp":`+in(setUp)+`}`),
		d.Make(kinds.Note, `{"text":"n","about":`+in(clip)+`}`),
		d.Make(kinds.Sample, `{"clip":`+in(clip)+`,"body":`+in(body)+card+`}`),
		d.Make(kinds.Acceptance, `{"deviation":"no-chart","scope":"setUp","reason":"r","subjects":[`+in(camera)+`,`+in(setUp)+`]}`),
	} {
		if of, ok := setup.DayOf(d.Book, v); !ok || of.ID != day.ID {
			t.Errorf("%s: got %v, want the day", v.Kind, of.ID)
		}
	}
	for _, v := range []logbook.View{body, camera, d.Make(kinds.Note, `{"text":"n","about":`+in(camera)+`}`),
		d.Make(kinds.Sample, `{"camera":`+in(camera)+`,"body":`+in(body)+card+`}`)} {
		if _, ok := setup.DayOf(d.Book, v); ok {
			t.Errorf("%s has a day", v.Kind)
		}
	}
}

// A day that people do not agree to have closed is open: it is still being worked there.
func TestAConflictOverClosedIsAnOpenDay(t *testing.T) {
	for _, c := range []struct {
		closed []string // by two people apart
		worked bool
	}{{[]string{"true", "true"}, false}, {[]string{"true", "false"}, true}, {[]string{"false", "true"}, true}} {
		d := amendtest.New(t)
		day := d.Make(kinds.Day, `{"number":1,"date":"2026-03-04"}`)
		setUp := d.Make(kinds.SetUp, `{"name":"A","day":`+string(logbook.IDValue(day.ID))+`}`)
		d.Make(kinds.Take, `{"number":1,"setUp":`+string(logbook.IDValue(setUp.ID))+`}`)
		for i, said := range c.closed {
			d.Line, d.Now = 1+i, d.Now+1000
			d.Apply(logbook.Draft{Kind: kinds.Day, Record: day.ID, Set: []logbook.Change{{Field: "closed", Value: logbook.Value(said)}}})
		}
		if got := setup.NewReader(d.Book).ReadToWrap(d.View(setUp.ID), d.Now+60_000).Worked(); got != c.worked {
			t.Errorf("closed is %v: worked is %v, want %v", c.closed, got, c.worked)
		}
	}
}
