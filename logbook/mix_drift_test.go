package logbook

import (
	"fmt"
	"strings"
	"testing"
)

// lampAndWindow is a set-up whose white is the mix at the face; the returned function
// reads the window.
func lampAndWindow(s *stage) (lamp, window ID, read func(at, lux int, sky string)) {
	s.t.Helper()
	s.set(s.key, "rigged/on", "false")
	lamp = s.light("lamp", "key", "rigged/on", "true", "rigged/levelPercent", "100", "intent", `"leave"`)
	s.read(lamp, onLocus3200, "position", `"face"`, "illuminance", `{"value":800,"unit":"lux"}`)
	window = s.light("window", "fill", "sky", `"sun"`, "intent", `"leave"`, "rigged/on", "true", "rigged/levelPercent", "100")
	return lamp, window, func(at, lux int, sky string) {
		s.minute(at)
		s.read(window, onLocus5600, "position", `"face"`, "sky", quoted(sky), "illuminance", fmt.Sprintf(`{"value":%d,"unit":"lux"}`, lux))
	}
}

// A mix that hardly moved is no finding.
func TestAMixInsideItsLimitsHasNotDrifted(t *testing.T) {
	s := newStage(t)
	_, _, read := lampAndWindow(s)
	read(4, 800, "sun")
	s.minute(5)
	s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"mix","position":"face"}`, "appliesFrom", `{"as":"time","at":`+stamp(5)+`}`)
	read(20, 780, "sun")
	if got := kindWords(s.deviations(s.setUp, 22)); strings.Contains(got, MixDrifted) {
		t.Errorf("a mix that moved by a mired: got %q", got)
	}
	read(30, 300, "sun")
	if got := kindWords(s.deviations(s.setUp, 32)); !strings.Contains(got, MixDrifted) {
		t.Errorf("a window at a third: got %q, want %s", got, MixDrifted)
	}
}

// The mix moves by itself only between sums of one sky and of lamps that nobody
// touched: what was read otherwise does not count.
func TestTheTrendOfAMixIsThatOfOneState(t *testing.T) {
	for name, before := range map[string]func(s *stage, window ID, read func(int, int, string)){
		"another sky": func(_ *stage, _ ID, read func(int, int, string)) { read(6, 100, "cloud"); read(8, 2000, "cloud") },
		"another level": func(s *stage, window ID, read func(int, int, string)) {
			s.set(window, "rigged/levelPercent", "30")
			read(6, 100, "sun")
			read(8, 2000, "sun")
			s.minute(9)
			s.set(window, "rigged/levelPercent", "100")
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newStage(t)
			_, window, read := lampAndWindow(s)
			s.minute(5)
			before(s, window, read)
			for i, lux := range []int{800, 700, 600, 500} {
				read(20+10*i, lux, "sun")
			}
			n, err := Now(s.book(), s.setUp, minute(52))
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range n.Mixes {
				if m.Position != "face" {
					continue
				}
				if m.Drift == nil || !m.Drift.Since.Equal(minute(20).Time()) || !(m.Drift.Mired.Low > 0) {
					t.Errorf("got %+v, want the mix to get warmer, seen since minute 20", m.Drift)
				}
				return
			}
			t.Errorf("no mix at the face: %+v", n.Mixes)
		})
	}
}
