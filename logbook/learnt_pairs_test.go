package logbook

import "testing"

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
			s := newStage(t)
			hand, other := s.add(KindMeter, "name", `"hand"`, "meterKind", `"spectrometer"`), s.add(KindMeter, "name", `"other"`, "meterKind", `"spectrometer"`)
			gel := s.add(KindGel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
			light := s.light("window", "key", "sky", `"sun"`, "rigged/on", "true")
			if !c.window {
				light = s.light("fresnel", "key", "lamp", ref(s.add(KindLamp, "name", `"fresnel"`, "family", `"incandescent"`)), "rigged/on", "true")
			}
			read := func(measured string, more []string) {
				by := []string{"meter", ref(hand)}
				if len(more) > 0 && more[0] == "meter" {
					by, more = []string{"meter", ref(other)}, nil
				}
				s.read(light, measured, append(by, more...)...)
			}
			s.minute(5)
			read(onLocus3200, c.without)
			s.minute(6)
			s.set(light, "rigged/gels", "["+ref(gel)+"]")
			s.minute(5 + c.apart)
			read(cctDuv(1e6/(312.5-116), 0), c.with)
			got, err := LearntOfGel(s.book(), gel, s.clock)
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
			s := newStage(t)
			hand, old := s.add(KindMeter, "name", `"hand"`, "meterKind", `"spectrometer"`), s.add(KindMeter, "name", `"old"`, "meterKind", `"other"`)
			gel := s.add(KindGel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
			s.minute(10)
			s.read(s.key, onLocus5600, append([]string{"meter", ref(hand)}, c.one...)...)
			s.minute(10 + c.apart)
			more := c.other
			if len(more) > 0 && more[0] == "throughGel" {
				more = []string{"throughGel", ref(gel)}
			}
			s.read(s.key, cctDuv(5400, 0), append([]string{"meter", ref(old)}, more...)...)
			got, err := LearntOfMeter(s.book(), hand, s.clock)
			count := 0
			for _, o := range got.Others {
				count += o.Learnt.Count
			}
			if err != nil || count != c.comparisons {
				t.Errorf("got %+v (%v), want %d comparisons", got.Others, err, c.comparisons)
			}
			if count == 1 {
				one, two := floorMiredOf(t, s, 0), floorMiredOf(t, s, 1)
				near(t, "spread of one comparison", got.Others[0].Learnt.SpreadMired, one+two, 1.01)
			}
		})
	}
	t.Run("each reading once", func(t *testing.T) {
		s := newStage(t)
		hand, old := s.add(KindMeter, "name", `"hand"`, "meterKind", `"spectrometer"`), s.add(KindMeter, "name", `"old"`, "meterKind", `"other"`)
		s.minute(10)
		s.read(s.key, onLocus5600, "meter", ref(hand))
		s.read(s.key, onLocus5600, "meter", ref(hand))
		s.read(s.key, cctDuv(5400, 0), "meter", ref(old))
		got, err := LearntOfMeter(s.book(), hand, s.clock)
		if err != nil || len(got.Others) != 1 || got.Others[0].Learnt.Count != 1 {
			t.Errorf("got %+v (%v), want one comparison", got.Others, err)
		}
	})
}

// floorMiredOf is the floor of the last reading but n.
func floorMiredOf(t *testing.T, s *stage, n int) float64 {
	t.Helper()
	all := MeasurementsOf(s.book(), s.setUp)
	return all[len(all)-1-n].FloorMired()
}
