package lighting_test

import (
	"testing"

	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// A gel is learnt from two readings that differ in nothing else.
func TestAGelIsLearntFromReadingsThatDifferInItAlone(t *testing.T) {
	for _, c := range []struct {
		name          string
		without, with []string // of the readings
		apart         int      // minutes
		window        bool
		learnt        bool
	}{
		{"alike", nil, nil, 5, false, true},
		{"by another meter", nil, []string{"meter", "other"}, 5, false, false},
		{"at another place", []string{"position", `"chair"`}, []string{"position", `"door"`}, 5, false, false},
		{"under another sky", []string{"sky", `"sun"`}, []string{"sky", `"cloud"`}, 5, true, false},
		{"a window after 9 minutes", []string{"sky", `"sun"`}, []string{"sky", `"sun"`}, 9, true, true},
		{"a window after 11 minutes", []string{"sky", `"sun"`}, []string{"sky", `"sun"`}, 11, true, false},
		{"a lamp after 59 minutes", nil, nil, 59, false, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			hand, other := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`), s.Add(kinds.Meter, "name", `"other"`, "meterKind", `"spectrometer"`)
			gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
			light := s.Light("window", "key", "sky", `"sun"`, "rigged/on", "true")
			if !c.window {
				light = s.Light("fresnel", "key", "lamp", stage.Ref(s.Add(kinds.Lamp, "name", `"fresnel"`, "family", `"incandescent"`)), "rigged/on", "true")
			}
			read := func(measured string, more []string) {
				by := []string{"meter", stage.Ref(hand)}
				if len(more) > 0 && more[0] == "meter" {
					by, more = []string{"meter", stage.Ref(other)}, nil
				}
				s.Read(light, measured, append(by, more...)...)
			}
			s.Minute(5)
			read(stage.OnLocus3200, c.without)
			s.Minute(6)
			s.Set(light, "rigged/gels", "["+stage.Ref(gel)+"]")
			s.Minute(5 + c.apart)
			read(stage.CctDuv(1e6/(312.5-116), 0), c.with)
			got, err := lighting.LearntOfGel(s.Book(), gel, s.Clock)
			if err != nil || (len(got.Families) == 1) != c.learnt {
				t.Errorf("got %+v (%v), want it learnt: %v", got.Families, err, c.learnt)
			}
		})
	}
}

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

// floorMiredOf is the floor of the last reading but n.
func floorMiredOf(t *testing.T, s *stage.Stage, n int) float64 {
	t.Helper()
	all := lighting.ReadingsOf(s.Book(), s.SetUp)
	return all[len(all)-1-n].FloorMired()
}
