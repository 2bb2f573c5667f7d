package lighting_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func TestReadingsThatCount(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	second := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5500,"duv":0}`, "supersedes", stage.Ref(s.Reading))
	s.Minute(20)
	third := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5400,"duv":0}`)
	count := func(want ...logbook.ID) {
		t.Helper()
		var got []logbook.ID
		for _, m := range lighting.ReadingsOf(s.Book(), s.SetUp) {
			got = append(got, m.Reading)
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("got %v, want %v", got, want)
		}
	}
	count(second, third)
	s.Set(third, "struckOut", `{"reason":"sun on the meter"}`)
	count(second)
	s.Set(second, "struckOut", `{"reason":"typed wrong"}`) // then what it replaced counts again
	count(s.Reading)
}

func TestTheReadingThatSpeaksAtATime(t *testing.T) {
	s := stage.New(t)
	s.Minute(30)
	s.Read(s.Key, stage.OnLocus5600)
	all := lighting.ReadingsOf(s.Book(), s.SetUp)
	b := s.Book()
	key, _ := b.Record(s.Key)
	course := lighting.NewCourse(key, all, nil, setup.LimitsOf(b, logbook.View{}, "key"), 90)
	for _, c := range []struct {
		at, want int
		when     string
	}{{-5, 0, "read 5 min later"}, {0, 0, "just read"}, {29, 0, "29 min before"}, {30, 30, "just read"}, {500, 30, "8 h before"}} {
		got := course.At(stage.Minute(c.at))
		if got.Reading == nil || got.Reading.TakenAt != stage.Minute(c.want) || got.When() != c.when {
			t.Errorf("at minute %d: got %+v, %q; want minute %d, %q", c.at, got.Reading, got.When(), c.want, c.when)
		}
	}
	if got := course.At(stage.Minute(-91)); got.Reading != nil || got.Problem != "first read 91 min later" {
		t.Errorf("long before: got %+v", got)
	}
	stage.Near(t, "age", all[0].AgeMinutes(stage.Minute(45)), 45, 0)
	stage.Near(t, "age of a reading from later", all[1].AgeMinutes(stage.Minute(10)), 0, 0)
}

func TestTheFloorOfAMeter(t *testing.T) {
	s := stage.New(t)
	meter := s.Add(kinds.Meter, "name", `"stick"`, "meterKind", `"spectrometer"`)
	rough := s.Add(kinds.Meter, "name", `"old one"`, "meterKind", `"threeSensor"`)
	fine := s.Add(kinds.Meter, "name", `"lab"`, "meterKind", `"spectrometer"`, "floorXY", "0.0005")
	for _, id := range []logbook.ID{meter, rough, fine} {
		s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(id))
	}
	b := s.Book()
	for i, want := range []float64{0.004, 0.002, 0.004, 0.0005} {
		stage.Near(t, "floor", lighting.ReadingsOf(b, s.SetUp)[i].FloorXY, want, 0)
	}
	// From memory: a thousandth of x or y is 1 to 2 mired around 5600 K.
	stage.Near(t, "floor in mired", lighting.ReadingsOf(b, s.SetUp)[1].FloorMired(), 5, 3)
}
