package deviation_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// A set-up of 11 takes as it happens: B stands wrong under two whites, A is left on automatic
// white once, a light is never read and another read too long ago, charts and a false start
// are wrong too, a take is logged twice, and one not at all by B.
func noisySetUp(t *testing.T) *stage.Stage {
	s := stage.New(t)
	s.Minute(4)
	s.Light("window", "fill")
	s.Light("moon", "fill")
	s.Read(s.Light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":5000,"duv":0}`)
	for range 2 {
		s.Clip(s.B, logbook.ID{}, "4300", "clipKind", `"chart"`)
	}
	both := func(minute int, a, b string) logbook.ID {
		s.Minute(minute)
		take := s.Take()
		s.Clip(s.A, take, a)
		if b != "" {
			s.Clip(s.B, take, b)
		}
		return take
	}
	for i := range 3 {
		both(10+10*i, "5600", "4300")
	}
	s.Minute(38)
	s.Clip(s.B, s.Take("takeKind", `"falseStart"`), "3200")
	s.Minute(40)
	take := s.Take()
	s.Clip(s.A, take, "", "whiteMode", `"auto"`)
	s.Clip(s.B, take, "4300")
	both(50, "5600", "")
	s.Minute(60)
	take = s.Take()
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5000,"locus":"blackBody"}`,
		"appliesFrom", fmt.Sprintf(`{"as":"take","take":%s}`, stage.Ref(take)), "supersedes", stage.Ref(s.White))
	s.Clip(s.A, take, "5000")
	s.Clip(s.B, take, "4300")
	for i := range 4 {
		both(110+10*i, "5000", "4300")
	}
	s.Takes--
	both(141, "5000", "4300")
	s.Minute(145)
	s.Set(s.Key, "rigged/dialKelvin", "5000")
	both(150, "5000", "4300")
	return s
}

func TestADayOfMistakesIsAShortList(t *testing.T) {
	s := noisySetUp(t)
	all := s.Deviations(s.SetUp, 160)
	causes, byKind := map[string]bool{}, map[string]int{}
	for _, d := range all {
		if causes[d.Cause] {
			t.Errorf("the cause %s stands twice", d.Cause)
		}
		causes[d.Cause] = true
		byKind[d.Kind]++
		if len(d.Takes) > 0 && d.Count > len(d.Takes) {
			t.Errorf("%s counts %d of %d takes", d.Kind, d.Count, len(d.Takes))
		}
		sayable(t, d.Kind, d.Headline)
	}
	if len(all) > 11 || all[0].Kind != deviation.AutomaticWhite {
		t.Errorf("got %d findings, the first %s; want at most 11, and what makes footage worthless first", len(all), stage.KindWords(all))
	}
	for _, kind := range []string{deviation.SettingOffAim, deviation.NoReading, deviation.NotLogged, deviation.TakeNumberTwice} {
		if byKind[kind] != 1 {
			t.Errorf("got %d of %s, want 1: %s", byKind[kind], kind, stage.KindWords(all))
		}
	}
	off := stage.DeviationOf(t, all, deviation.SettingOffAim)
	// Takes 1 to 3 and 5 under one white, 7 to 12 under the next; 4 was a false start.
	if off.Count != 10 || len(off.Takes) != 11 {
		t.Errorf("B was wrong in %d takes of %d records, want 10 of 11: take 11 was logged twice", off.Count, len(off.Takes))
	}
}
