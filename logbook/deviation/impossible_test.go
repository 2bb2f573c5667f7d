package deviation_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// The numbers that 29.97 drop frame leaves out are 00 and 01 of every minute but each tenth,
// those of 59.94 the first four.
func TestTimecodesThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		rate, drop, start, end string // of the clip
		body                   string // how its timecode runs
		want                   string // in the words; empty: no finding
	}{
		{start: "10:00:00:24"},
		{start: "10:00:00:25", want: "10:00:00:25 of camera A can't be: there is no frame 25 at 25"},
		{start: "10:00:00:59", want: "there is no frame 59 at 25"},
		{end: "10:00:00:59", want: "there is no frame 59 at 25"},
		{start: "10:00:00;10", want: "there is no drop frame at 25"},
		{start: "10:00:00:10", drop: "true", want: "there is no drop frame at 25"},
		{rate: "50", start: "10:00:00:49"},
		{rate: "23.976", start: "10:00:00:24", want: "no frame 24 at 23.976"},
		{rate: "29.97", start: "00:01:00;00", want: "drop frame leaves this number out"},
		{rate: "29.97", start: "00:01:00;01", want: "drop frame leaves this number out"},
		{rate: "29.97", start: "00:01:00:00", drop: "true", want: "drop frame leaves this number out"},
		{rate: "29.97", start: "00:01:00:00"},
		{rate: "29.97", start: "00:01:00;02"},
		{rate: "29.97", start: "00:01:01;00"},
		{rate: "29.97", start: "00:10:00;00"},
		{rate: "59.94", start: "00:01:00;03", want: "drop frame leaves this number out"},
		{rate: "59.94", start: "00:01:00;04"},
		{rate: "30", start: "10:00:00;10", want: "there is no drop frame at 30"},
		{start: "10:00:00:00", end: "10:00:00:00"},
		{start: "10:00:10:00", end: "10:00:00:00", want: "ends at timecode 10:00:00:00, before it begins at 10:00:10:00"},
		{start: "23:59:50:00", end: "00:00:20:00"}, // time of day over midnight
		{start: "23:59:50:00", end: "00:00:20:00", body: "recordRun", want: "ends at timecode 00:00:20:00, before"},
		{start: "14:00:00:00", end: "02:00:00:00"},
		{start: "14:00:00:00", end: "02:00:00:01", want: "before it begins at 14:00:00:00"},
	} {
		s := stage.New(t)
		s.Minute(10)
		fields := []string{}
		for _, f := range [][2]string{{"rate", c.rate}, {"start", c.start}, {"end", c.end}} {
			if f[1] != "" {
				fields = append(fields, "timecode/"+f[0], stage.Quoted(f[1]))
			}
		}
		if c.drop != "" {
			fields = append(fields, "timecode/drop", c.drop)
		}
		if c.body != "" {
			s.Set(s.BodyA, "timecode", stage.Quoted(c.body))
		}
		s.Clip(s.A, s.Take(), "5600", fields...)
		all := s.Deviations(s.SetUp, 15)
		if c.want == "" {
			stage.MustKinds(t, all, "")
			continue
		}
		if len(all) != 1 || all[0].Kind != deviation.TimecodeImpossible || !strings.Contains(all[0].Words, c.want) ||
			!strings.HasPrefix(all[0].Headline, "A: ") || all[0].ToDo != "read A's timecode off again" {
			t.Errorf("%+v: got %+v", c, all)
		}
	}
}

// What the production says of drop frame holds for clips that say nothing, at rates that have it.
func TestDropFrameOfTheProduction(t *testing.T) {
	for rate, want := range map[string]string{"29.97": deviation.TimecodeImpossible, "25": ""} {
		s := stage.New(t)
		s.Set(s.ProductionID(), "dropFrame", "true")
		s.Minute(10)
		s.Clip(s.A, s.Take(), "5600", "timecode/rate", stage.Quoted(rate), "timecode/start", `"00:01:00:00"`)
		stage.MustKinds(t, s.Deviations(s.SetUp, 15), want)
	}
}

func TestTimecodesAtWhichATakeBegins(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	for range 2 {
		take := s.Take()
		s.Clip(s.A, take, "5600", "takes/"+take.String(), `{"beginsAt":"10:00:00:30"}`)
	}
	all := s.Deviations(s.SetUp, 15)
	stage.MustKinds(t, all, deviation.TimecodeImpossible)
	if all[0].Count != 2 {
		t.Errorf("got %+v, want one finding of two takes", all[0])
	}
}

func TestTheSameClipNameTwiceOnACard(t *testing.T) {
	named := func(s *stage.Stage, camera, take logbook.ID, name, card string, more ...string) {
		s.Clip(camera, take, "5600", append([]string{"name", fmt.Sprintf(`{"text":%q,"from":"counted"}`, name), "card", stage.Quoted(card)}, more...)...)
	}
	for _, c := range []struct {
		name string
		shot func(s *stage.Stage)
		want int // takes of the finding
	}{
		{"on one card", func(s *stage.Stage) { named(s, s.A, s.Take(), "C1", "A1"); named(s, s.A, s.Take(), "C1", "A1") }, 2},
		{"on two cards", func(s *stage.Stage) { named(s, s.A, s.Take(), "C1", "A1"); named(s, s.A, s.Take(), "C1", "A2") }, 0},
		{"of two cameras", func(s *stage.Stage) { named(s, s.A, s.Take(), "C1", "A1"); named(s, s.B, s.Take(), "C1", "A1") }, 0},
		{"on a card that is not known", func(s *stage.Stage) { named(s, s.A, s.Take(), "C1", ""); named(s, s.A, s.Take(), "C1", "") }, 0},
		{"of a camera that stood still", func(s *stage.Stage) {
			named(s, s.A, s.Take(), "C1", "A1")
			named(s, s.A, s.Take(), "C1", "A1", "rolled", "false")
		}, 0},
		{"several of one card", func(s *stage.Stage) {
			for range 2 {
				named(s, s.A, s.Take(), "C1", "A1")
				named(s, s.A, s.Take(), "C2", "A1")
			}
		}, 4},
		{"in two set-ups of the day", func(s *stage.Stage) {
			named(s, s.A, s.Take(), "C1", "A1")
			other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"Z"`)
			named(s, s.A, logbook.ID{}, "C1", "A1", "setUp", stage.Ref(other))
		}, 1},
		{"on two days", func(s *stage.Stage) {
			named(s, s.A, s.Take(), "C1", "A1")
			day := s.Add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
			other := s.Add(kinds.SetUp, "day", stage.Ref(day), "name", `"Z"`)
			named(s, s.A, logbook.ID{}, "C1", "A1", "setUp", stage.Ref(other))
		}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(10)
			c.shot(s)
			all := s.Deviations(s.SetUp, 15)
			if c.want == 0 {
				stage.MustKinds(t, all, "")
				return
			}
			stage.MustKinds(t, all, deviation.ClipNameTwice)
			if d := all[0]; len(d.Takes) != c.want || !strings.HasPrefix(d.Headline, "A: clip names twice on a card") ||
				d.ToDo != "read the names off A's card A1" || !strings.Contains(d.Words, "named C1 on card A1 of this day") {
				t.Errorf("got %+v, want %d takes", d, c.want)
			}
		})
	}
	t.Run("of one take that was logged twice", func(t *testing.T) {
		s := stage.New(t)
		s.Minute(10)
		named(s, s.A, s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "5"), "C1", "A1")
		named(s, s.A, s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "5"), "C1", "A1")
		stage.MustKinds(t, s.Deviations(s.SetUp, 15), deviation.TakeNumberTwice)
	})
}

func TestATakeThatEndedBeforeItBegan(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	take, _, _ := s.Shoot("5600", "5600")
	s.Set(take, "endedAt", stage.Stamp(12))
	stage.MustKinds(t, s.Deviations(s.SetUp, 15), "")
	s.Set(take, "endedAt", stage.Stamp(10))
	stage.MustKinds(t, s.Deviations(s.SetUp, 15), "")
	s.Set(take, "endedAt", stage.Stamp(-5))
	all := s.Deviations(s.SetUp, 15)
	stage.MustKinds(t, all, deviation.TakeEndsFirst)
	if d := all[0]; d.Headline == "" || d.ToDo != "type the times of take 1 again" || len(d.Takes) != 1 {
		t.Errorf("got %+v", d)
	}
}
