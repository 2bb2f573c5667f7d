package lighting_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// Two meters are compared where they read one thing in one state at about one time.
func TestMetersAreComparedWhereNothingElseDiffers(t *testing.T) {
	for _, c := range []struct {
		name        string
		one, other  []string
		apart       int
		comparisons int
	}{
		{"alike", nil, nil, 1, 1},
		{"at another place", []string{"position", `"chair"`}, []string{"position", `"door"`}, 1, 0},
		{"through a gel", nil, []string{"throughGel", "gel"}, 1, 0},
		{"inside, after 10 minutes", []string{"sky", `"inside"`}, []string{"sky", `"inside"`}, 10, 1},
		{"inside, after 11 minutes", []string{"sky", `"inside"`}, []string{"sky", `"inside"`}, 11, 0},
		{"in the sun, after 2 minutes", []string{"sky", `"sun"`}, []string{"sky", `"sun"`}, 2, 1},
		{"in the sun, after 3 minutes", []string{"sky", `"sun"`}, []string{"sky", `"sun"`}, 3, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			hand, old := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`), s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"other"`)
			gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
			s.Minute(10)
			s.Read(s.Key, stage.OnLocus5600, append([]string{"meter", stage.Ref(hand)}, c.one...)...)
			s.Minute(10 + c.apart)
			more := c.other
			if len(more) > 0 && more[0] == "throughGel" {
				more = []string{"throughGel", stage.Ref(gel)}
			}
			s.Read(s.Key, stage.CctDuv(5400, 0), append([]string{"meter", stage.Ref(old)}, more...)...)
			got, err := lighting.LearntOfMeter(s.Book(), hand, s.Clock)
			count := 0
			for _, o := range got.Others {
				count += o.Learnt.Count
			}
			if err != nil || count != c.comparisons {
				t.Errorf("got %+v (%v), want %d comparisons", got.Others, err, c.comparisons)
			}
			if count == 1 {
				one, two := floorMiredOf(t, s, 0), floorMiredOf(t, s, 1)
				stage.Near(t, "spread of one comparison", got.Others[0].Learnt.SpreadMired, one+two, 1.01)
			}
		})
	}
	t.Run("each reading once", func(t *testing.T) {
		s := stage.New(t)
		hand, old := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`), s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"other"`)
		s.Minute(10)
		s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(hand))
		s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(hand))
		s.Read(s.Key, stage.CctDuv(5400, 0), "meter", stage.Ref(old))
		got, err := lighting.LearntOfMeter(s.Book(), hand, s.Clock)
		if err != nil || len(got.Others) != 1 || got.Others[0].Learnt.Count != 1 {
			t.Errorf("got %+v (%v), want one comparison", got.Others, err)
		}
	})
}

// What a reading teaches is compared in the state in which the light was: another lamp is
// another state, gels in another order are not.
func TestMetersAreComparedInOneState(t *testing.T) {
	for _, c := range []struct {
		name        string
		between     func(s *stage.Stage, first, second logbook.ID)
		comparisons int
	}{
		{"nothing", func(*stage.Stage, logbook.ID, logbook.ID) {}, 1},
		{"another lamp", func(s *stage.Stage, _, _ logbook.ID) {
			s.Set(s.Key, "lamp", stage.Ref(s.Add(kinds.Lamp, "name", `"other"`)))
		}, 0},
		{"the gels in another order", func(s *stage.Stage, first, second logbook.ID) {
			s.Set(s.Key, "rigged/gels", fmt.Sprintf("[%s,%s]", stage.Ref(second), stage.Ref(first)))
		}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			hand, old := s.Add(kinds.Meter, "name", `"hand"`), s.Add(kinds.Meter, "name", `"old"`)
			first, second := s.Add(kinds.Gel, "name", `"first"`), s.Add(kinds.Gel, "name", `"second"`)
			s.Set(s.Key, "lamp", stage.Ref(s.Add(kinds.Lamp, "name", `"one"`)), "rigged/gels", fmt.Sprintf("[%s,%s]", stage.Ref(first), stage.Ref(second)))
			s.Minute(10)
			s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(hand))
			s.Minute(11)
			c.between(s, first, second)
			s.Minute(12)
			s.Read(s.Key, stage.CctDuv(5400, 0), "meter", stage.Ref(old))
			got, err := lighting.LearntOfMeter(s.Book(), hand, s.Clock)
			count := 0
			for _, o := range got.Others {
				count += o.Learnt.Count
			}
			if err != nil || count != c.comparisons {
				t.Errorf("got %+v (%v), want %d comparisons", got.Others, err, c.comparisons)
			}
		})
	}
}

// floorMiredOf is the floor of the last reading but n.
func floorMiredOf(t *testing.T, s *stage.Stage, n int) float64 {
	t.Helper()
	all := lighting.ReadingsOf(s.Book(), s.SetUp)
	return all[len(all)-1-n].FloorMired()
}

func TestTwoMetersAreComparedOnTheSameLight(t *testing.T) {
	s := stage.New(t)
	hand := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"threeSensor"`)
	s.Minute(10)
	pair := func(by, duv float64, more ...string) {
		s.Read(s.Key, stage.OnLocus5600, append([]string{"meter", stage.Ref(hand), "illuminance", `{"value":800,"unit":"lux"}`, "purpose", `"meterCompare"`}, more...)...)
		s.Read(s.Key, stage.CctDuv(1e6/(1e6/5600+by), duv), append([]string{"meter", stage.Ref(old), "illuminance", `{"value":1000,"unit":"lux"}`, "purpose", `"meterCompare"`}, more...)...)
	}
	pair(3, 0.001)
	s.Minute(30)
	pair(5, 0.003)
	s.Minute(60)
	s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(hand))
	s.Minute(75) // a quarter of an hour later: not the same light
	s.Read(s.Key, stage.CctDuv(4000, 0), "meter", stage.Ref(old))
	got, err := lighting.LearntOfMeter(s.Book(), hand, stage.Minute(90))
	if err != nil || len(got.Others) != 1 {
		t.Fatalf("got %+v (%v), want one other meter", got, err)
	}
	o := got.Others[0]
	// The hand meter says 3 and 5 mired cooler than the old one, which is 4 ± 1.4.
	stage.Near(t, "difference", o.Learnt.Mired, -4, 0)
	stage.Near(t, "Duv", o.Learnt.Duv, -0.002, 0)
	stage.Near(t, "spread", o.Learnt.SpreadMired, 1.4, 0.05)
	stage.Near(t, "illuminance", *o.Illuminance, 0.8, 0)
	if o.Meter != old || o.Learnt.Count != 2 || len(o.Learnt.Readings) != 4 {
		t.Errorf("got %+v", o)
	}
	back, err := lighting.LearntOfMeter(s.Book(), old, stage.Minute(90))
	if err != nil || len(back.Others) != 1 || back.Others[0].Learnt.Mired != 4 {
		t.Errorf("the other way round: got %+v (%v), want +4", back, err)
	}
}
