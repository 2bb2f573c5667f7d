package deviation_test

import (
	"strings"
	"testing"

	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestALimitFinerThanTheMeterSaysSo(t *testing.T) {
	s := stage.New(t)
	rough := s.Add(kinds.Meter, "name", `"old one"`, "meterKind", `"other"`, "floorXY", "0.01")
	s.Read(s.Light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":5200,"duv":0}`, "meter", stage.Ref(rough))
	got := s.Deviations(s.SetUp, 5)
	stage.MustKinds(t, got, "light-off-reference")
	if !strings.Contains(got[0].Words, "finer than the meter") {
		t.Errorf("words: got %q, want a word about the meter", got[0].Words)
	}
}

func TestAReadingIsStaleAtTheTakesThatWereLate(t *testing.T) {
	s := stage.New(t)
	s.Set(s.ProductionID(), "remeasureAfterMinutes", "30")
	for i := range 4 {
		s.Minute(10 + 15*i) // 10, 25, 40, 55
		s.Shoot("5600", "5600")
	}
	got := s.Deviations(s.SetUp, 60)
	stage.MustKinds(t, got, "reading-stale")
	if got[0].Count != 2 || len(got[0].Takes) != 2 || *got[0].Value.Minutes != 55 || *got[0].Limit.Minutes != 30 {
		t.Errorf("got count %d, takes %v, %v of %v minutes; want takes 3 and 4, 55 of 30",
			got[0].Count, got[0].Takes, *got[0].Value.Minutes, *got[0].Limit.Minutes)
	}
}

func TestASetUpThatWasLeftOvernightDoesNotAge(t *testing.T) {
	s := stage.New(t)
	stage.MustKinds(t, s.Deviations(s.SetUp, 11*60), "reading-stale")
	stage.MustKinds(t, s.Deviations(s.SetUp, 13*60), "")
}
