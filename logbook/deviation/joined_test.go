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

// shots logs takes in which B is at the kelvin named, "-" where it is not logged; A is right.
func shots(s *stage.Stage, kelvin string) {
	for dialled := range strings.FieldsSeq(kelvin) {
		take := s.Take()
		s.Clip(s.A, take, "5600")
		if dialled != "-" {
			s.Clip(s.B, take, dialled)
		}
	}
}

func TestAHeadlineEndsInTheTakes(t *testing.T) {
	for _, c := range []struct{ kelvin, where string }{
		{"4300", ", take 1"},
		{"5600 4300", ", take 2"},
		{"4300 4300", ", takes 1 and 2"},
		{"4300 4300 4300 4300 4300", ", takes 1–5"},
		{"5600 5600 4300 4300 4300", " since take 3"},
		{"4300 4300 4300 5600 4300 5600", ", takes 1–3 and 5"},
		{strings.Repeat("5600 4300 ", 10), ", 10 takes"},
	} {
		s := stage.New(t)
		s.Minute(5)
		shots(s, c.kelvin)
		d := stage.DeviationOf(t, s.Deviations(s.SetUp, 6), deviation.SettingOffAim)
		if !strings.HasSuffix(d.Headline, c.where) {
			t.Errorf("%s: got %q, want it to end in %q", c.kelvin, d.Headline, c.where)
		}
		if n := strings.Count(c.kelvin, "4300"); d.Count != n || len(d.Takes) != n {
			t.Errorf("%s: got count %d and %d takes, want %d", c.kelvin, d.Count, len(d.Takes), n)
		}
	}
}

func TestOneTakeOfTwoRecordsCountsOnce(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	shots(s, "5600 4300")
	s.Takes--
	shots(s, "4300") // take 2 once more
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 6), deviation.SettingOffAim)
	if d.Count != 1 || len(d.Takes) != 2 || !strings.HasSuffix(d.Headline, ", take 2") || !strings.HasSuffix(d.Words, "(take 2)") {
		t.Errorf("got count %d, %d takes, %q, %q; want take 2, once", d.Count, len(d.Takes), d.Headline, d.Words)
	}
}

func TestChartsTestsAndFalseStartsAreNoTakes(t *testing.T) {
	for _, c := range []struct {
		name       string
		take, clip []string
	}{
		{"a chart take", []string{"takeKind", `"chart"`}, nil},
		{"a test take", []string{"takeKind", `"test"`}, nil},
		{"a false start", []string{"takeKind", `"falseStart"`}, nil},
		{"a take that ended as a false start", []string{"state", `"falseStart"`}, nil},
		{"a chart clip", nil, []string{"clipKind", `"chart"`}},
		{"a false start of one camera", nil, []string{"clipKind", `"falseStart"`}},
	} {
		s := stage.New(t)
		s.Minute(5)
		for range 2 {
			take := logbook.ID{}
			if c.take != nil {
				take = s.Take(c.take...)
			}
			s.Clip(s.B, take, "4300", c.clip...)
			s.Clip(s.A, take, "", append([]string{"whiteMode", `"auto"`}, c.clip...)...)
		}
		if got := s.Deviations(s.SetUp, 6); len(got) != 0 {
			t.Errorf("%s: got %s, want nothing", c.name, stage.KindWords(got))
		}
		shots(s, "4300")
		d := stage.DeviationOf(t, s.Deviations(s.SetUp, 6), deviation.SettingOffAim)
		if d.Count != 1 || len(d.Takes) != 1 || len(d.Clips) != 1 {
			t.Errorf("%s: got count %d, takes %v, clips %v; want the one take", c.name, d.Count, d.Takes, d.Clips)
		}
	}
}

// The same dial is too cool under one white and too warm under the next.
func TestTwoSidesAreTwoFindings(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	shots(s, "4300 4300")
	s.Set(s.Key, "intent", `"leave"`)
	take := s.Take()
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":3200,"locus":"blackBody"}`,
		"appliesFrom", fmt.Sprintf(`{"as":"take","take":%s}`, stage.Ref(take)), "supersedes", stage.Ref(s.White))
	s.Clip(s.A, take, "3200")
	s.Clip(s.B, take, "4300")
	var off []deviation.Deviation
	for _, d := range s.Deviations(s.SetUp, 6) {
		if d.Kind == deviation.SettingOffAim {
			off = append(off, d)
		}
	}
	// 1e6/3200 − 1e6/4300 = +80; 1e6/5600 − 1e6/4300 = −54.
	if len(off) != 2 || *off[0].Value.Mired != 80 || *off[1].Value.Mired != -54 || off[0].Cause == off[1].Cause {
		t.Fatalf("got %d findings: %s", len(off), stage.KindWords(off))
	}
	for i, want := range []int{1, 2} {
		also := off[i].Also
		if off[i].Count != want || len(also) != 1 || also[0].Value.Mired == nil || *also[0].Value.Mired**off[i].Value.Mired < 0 {
			t.Errorf("got count %d, also %+v; want %d, and what follows on its own side", off[i].Count, also, want)
		}
	}
}

func TestWhatMakesFootageWorthlessComesFirst(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Light("window", "fill")
	s.Read(s.Light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":2700,"duv":0}`)
	shots(s, "4300")
	s.Clip(s.A, s.Take(), "", "whiteMode", `"auto"`)
	stage.MustKinds(t, s.Deviations(s.SetUp, 6), "automatic-white+takes-differ light-off-reference setting-off-aim+cameras-differ no-reading")
	s.Add(kinds.Acceptance, "deviation", stage.Quoted(deviation.AutomaticWhite), "scope", `"setUp"`, "reason", `"a toy camera"`,
		"subjects", fmt.Sprintf("[%s,%s]", stage.Ref(s.A), stage.Ref(s.SetUp)))
	all := s.Deviations(s.SetUp, 6)
	stage.MustKinds(t, all, "light-off-reference setting-off-aim+cameras-differ no-reading accepted automatic-white+takes-differ")
	for _, d := range all {
		if d.Accepted != nil && d.ToDo != "" {
			t.Errorf("got %q to do about what is accepted", d.ToDo)
		}
	}
}

// A dial that stayed where it was is one cause, whatever the whites it was shot under.
func TestOneDialUnderTwoWhitesIsOneFinding(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Set(s.Key, "intent", `"leave"`)
	shots(s, "5600 4300 4300")
	take := s.Take()
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5000,"locus":"blackBody"}`,
		"appliesFrom", fmt.Sprintf(`{"as":"take","take":%s}`, stage.Ref(take)), "supersedes", stage.Ref(s.White))
	s.Clip(s.A, take, "5000")
	s.Clip(s.B, take, "4300")
	all := s.Deviations(s.SetUp, 6)
	stage.MustKinds(t, all, "setting-off-aim+cameras-differ+takes-differ aim-not-reachable")
	// 1e6/5600 − 1e6/4300 = −54 in takes 2 and 3, 1e6/5000 − 1e6/4300 = −33 in take 4.
	if d := all[0]; d.Count != 3 || *d.Value.Mired != -54 || !strings.HasSuffix(d.Headline, " since take 2") {
		t.Errorf("got count %d, %v mired, %q", d.Count, *d.Value.Mired, d.Headline)
	}
	// Of 3200, 4300, 5600 and 6500 K none is within 8 mired of 200: the take says so, and it is so now.
	if d := all[1]; d.Count != 1 || len(d.Takes) != 1 || d.Takes[0] != take || d.ComparedWith.Record == s.White {
		t.Errorf("got %+v, want the take under the new white", d)
	}
}
