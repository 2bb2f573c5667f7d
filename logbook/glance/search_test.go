package glance_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// footage are clips of A and B in three takes, of which the last has no end, and the first goes over
// midnight.
func footage(t *testing.T) *stage.Stage {
	s := stage.New(t)
	for i, at := range [][2]string{{"23:59:50:00", "00:00:10:00"}, {"00:10:00:00", "00:11:00:00"}, {"00:20:00:00", ""}, {"00:30:00:00", ""}} {
		s.Minute(5 + 10*i)
		_, a, b := s.Shoot("5600", "4300")
		s.Set(a, "timecode/start", fmt.Sprintf("%q", at[0]), "name", fmt.Sprintf(`{"text":"A001C%03d","from":"counted"}`, i+1))
		s.Set(b, "name", fmt.Sprintf(`{"text":"B001C%03d","from":"counted"}`, i+1), "card", `"B001"`)
		if at[1] != "" {
			s.Set(a, "timecode/end", fmt.Sprintf("%q", at[1]))
		}
	}
	return s
}

func TestClipsAreFound(t *testing.T) {
	s := footage(t)
	for _, c := range []struct {
		about string
		q     glance.ClipQuery
		want  string
	}{
		{"an exact name", glance.ClipQuery{Name: "A001C002"}, "A001C002"},
		{"a name in small letters is another", glance.ClipQuery{Name: "a001c002"}, ""},
		{"the beginning of names", glance.ClipQuery{Name: "A001*"}, "A001C001 A001C002 A001C003 A001C004"},
		{"a pattern", glance.ClipQuery{Name: "?001C*2"}, "A001C002 B001C002"},
		{"a camera", glance.ClipQuery{Camera: "B", Name: "?*"}, "B001C001 B001C002 B001C003 B001C004"},
		{"a card", glance.ClipQuery{Card: "B001", Take: "2"}, "B001C002"},
		{"a take", glance.ClipQuery{Take: "3"}, "A001C003 B001C003"},
		{"a set-up", glance.ClipQuery{SetUp: s.SetUp, Take: "1"}, "A001C001 B001C001"},
		{"a scene that is not there", glance.ClipQuery{Scene: "no such scene"}, ""},
		{"a frame", glance.ClipQuery{From: "00:10:30:00"}, "A001C002"},
		{"a frame after midnight", glance.ClipQuery{From: "00:00:05:00"}, "A001C001"},
		{"its last frame and no more", glance.ClipQuery{From: "00:00:10:01"}, ""},
		{"without an end up to the next clip of the body", glance.ClipQuery{From: "00:29:59:24"}, "A001C003"},
		{"the last one has one frame", glance.ClipQuery{From: "00:30:00:01"}, ""},
		{"from one frame to another", glance.ClipQuery{From: "23:00:00:00", To: "00:10:00:00"}, "A001C001 A001C002"},
		{"what is off", glance.ClipQuery{Deviation: "setting-off-aim", Name: "B*"}, "B001C001 B001C002 B001C003 B001C004"},
		{"what is off with nobody", glance.ClipQuery{Deviation: "light-drifted"}, ""},
	} {
		found, err := glance.SearchClips(s.Book(), c.q, deviation.OffClips(s.Book(), c.q.Scope(), logbook.Ever))
		if err != nil {
			t.Errorf("%s: %v", c.about, err)
			continue
		}
		var names []string
		for _, f := range found.Clips {
			names = append(names, f.Name)
		}
		if got := strings.Join(names, " "); got != c.want || found.More != 0 {
			t.Errorf("%s: got %q and %d more, want %q", c.about, got, found.More, c.want)
		}
	}
}

func TestWhatCannotBeAskedSaysWhy(t *testing.T) {
	s := footage(t)
	for _, c := range []struct {
		q    glance.ClipQuery
		want string
	}{
		{glance.ClipQuery{From: "10:00:00:60"}, `timecodeFrom is "10:00:00:60"`}, {glance.ClipQuery{To: "10:00:00:00"}, "timecodeTo"},
		{glance.ClipQuery{Least: "8"}, `least is "8"`},
		{glance.ClipQuery{Least: "-8 mired"}, "least"},
		{glance.ClipQuery{Least: "8 kelvin"}, "least"},
		{glance.ClipQuery{Least: "1e999 mired"}, "least"},
		{glance.ClipQuery{Least: "mired"}, "least"}, {glance.ClipQuery{Least: "0 Duv"}, "least"},
		{glance.ClipQuery{From: "noon"}, "timecodeFrom"}, {glance.ClipQuery{Deviation: "ugly"}, `deviation is "ugly"`},
	} {
		if _, err := glance.SearchClips(s.Book(), c.q, nil); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want an error about %s", c.q, err, c.want)
		}
	}
}

func TestAnAnswerIsBounded(t *testing.T) {
	s := stage.New(t)
	for i := range 510 {
		s.Add(kinds.Clip, "camera", stage.Ref(s.A), "body", stage.Ref(s.BodyA), "setUp", stage.Ref(s.SetUp),
			"name", fmt.Sprintf(`{"text":"A001C%03d","from":"counted"}`, i+1))
	}
	found, err := glance.SearchClips(s.Book(), glance.ClipQuery{}, nil)
	if all := len(s.Book().Records(kinds.Clip)); err != nil || len(found.Clips) != 500 || found.More != all-500 || found.More < 10 {
		t.Errorf("got %d clips and %d more of %d, %v; want 500", len(found.Clips), found.More, all, err)
	}
}

// One deviation has the size of the worst of its takes; each clip is found by its own.
func TestClipsAreFoundByHowFarOffTheyAre(t *testing.T) {
	s := stage.New(t)
	shoot := func(minute int, kelvinB string) {
		s.Minute(minute)
		_, a, b := s.Shoot("5600", kelvinB)
		for letter, clip := range map[string]logbook.ID{"A": a, "B": b} {
			s.Set(clip, "name", fmt.Sprintf(`{"text":"%s%d","from":"counted"}`, letter, minute))
		}
	}
	shoot(10, "4300") // 54 mired off
	shoot(20, "3200") // 134
	shoot(30, "5600")
	for i, kelvin := range []float64{5000, 4500} { // 21 and 44 mired off: one light, one deviation
		s.Minute(40 + 20*i)
		if i == 0 {
			s.Light("lamp", "fill", "rigged/on", "true")
		}
		s.Read(s.OfName("lamp"), stage.CctDuv(kelvin, 0))
		shoot(50+20*i, "5600")
	}
	for _, c := range []struct {
		q    glance.ClipQuery
		want string
	}{
		{glance.ClipQuery{Deviation: "setting-off-aim"}, "B10 B20"},
		{glance.ClipQuery{Deviation: "setting-off-aim", Least: "55 mired"}, "B20"},
		{glance.ClipQuery{Deviation: "setting-off-aim", Least: "54mired"}, "B10 B20"},
		{glance.ClipQuery{Deviation: "setting-off-aim", Least: "5 STEPS", Name: "B1*"}, "B10"},
		{glance.ClipQuery{Deviation: "setting-off-aim", Least: "500 steps"}, ""},
		{glance.ClipQuery{Deviation: "setting-off-aim", Least: "0.02 Duv"}, ""},
		{glance.ClipQuery{Deviation: "cameras-differ", Least: "50 mired"}, "B10 B20"},
		{glance.ClipQuery{Deviation: "light-off-reference"}, "A50 B50 A70 B70"},
		{glance.ClipQuery{Deviation: "light-off-reference", Least: "40 mired", Camera: "B"}, "B70"},
		{glance.ClipQuery{Least: "20 mired", SetUp: s.SetUp}, "B10 B20 A50 B50 A70 B70"},
		{glance.ClipQuery{Least: "45 mired", Day: s.Day}, "B10 B20"},
	} {
		off := deviation.OffClips(s.Book(), c.q.Scope(), logbook.Ever)
		found, err := glance.SearchClips(s.Book(), c.q, off)
		if err != nil {
			t.Errorf("%+v: %v", c.q, err)
		}
		var names []string
		for _, f := range found.Clips {
			names = append(names, f.Name)
		}
		if got := strings.Join(names, " "); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.q, got, c.want)
		}
		if anew, err := glance.SearchClipsAnew(s.Book(), c.q, logbook.Ever); err != nil || len(anew.Clips) != len(found.Clips) {
			t.Errorf("%+v: anew %d clips, %v; want %d", c.q, len(anew.Clips), err, len(found.Clips))
		}
	}
}
