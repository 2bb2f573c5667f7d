package setup_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// lampAndWindow is a set-up whose white is the mix at the face; the returned function
// reads the window.
func lampAndWindow(s *stage.Stage) (lamp, window logbook.ID, read func(at, lux int, sky string)) {
	s.T.Helper()
	s.Set(s.Key, "rigged/on", "false")
	lamp = s.Light("lamp", "key", "rigged/on", "true", "rigged/levelPercent", "100", "intent", `"leave"`)
	s.Read(lamp, stage.OnLocus3200, "position", `"face"`, "illuminance", `{"value":800,"unit":"lux"}`)
	window = s.Light("window", "fill", "sky", `"sun"`, "intent", `"leave"`, "rigged/on", "true", "rigged/levelPercent", "100")
	return lamp, window, func(at, lux int, sky string) {
		s.Minute(at)
		s.Read(window, stage.OnLocus5600, "position", `"face"`, "sky", stage.Quoted(sky), "illuminance", fmt.Sprintf(`{"value":%d,"unit":"lux"}`, lux))
	}
}

// A mix that hardly moved is no finding.
func TestAMixInsideItsLimitsHasNotDrifted(t *testing.T) {
	s := stage.New(t)
	_, _, read := lampAndWindow(s)
	read(4, 800, "sun")
	s.Minute(5)
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"mix","position":"face"}`, "appliesFrom", `{"as":"time","at":`+stage.Stamp(5)+`}`)
	read(20, 780, "sun")
	if got := stage.KindWords(s.Deviations(s.SetUp, 22)); strings.Contains(got, deviation.MixDrifted) {
		t.Errorf("a mix that moved by a mired: got %q", got)
	}
	read(30, 300, "sun")
	if got := stage.KindWords(s.Deviations(s.SetUp, 32)); !strings.Contains(got, deviation.MixDrifted) {
		t.Errorf("a window at a third: got %q, want %s", got, deviation.MixDrifted)
	}
}

// The mix moves by itself only between sums of one sky and of lamps that nobody
// touched: what was read otherwise does not count.
func TestTheTrendOfAMixIsThatOfOneState(t *testing.T) {
	for name, before := range map[string]func(s *stage.Stage, window logbook.ID, read func(int, int, string)){
		"another sky": func(_ *stage.Stage, _ logbook.ID, read func(int, int, string)) {
			read(6, 100, "cloud")
			read(8, 2000, "cloud")
		},
		"another level": func(s *stage.Stage, window logbook.ID, read func(int, int, string)) {
			s.Set(window, "rigged/levelPercent", "30")
			read(6, 100, "sun")
			read(8, 2000, "sun")
			s.Minute(9)
			s.Set(window, "rigged/levelPercent", "100")
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := stage.New(t)
			_, window, read := lampAndWindow(s)
			s.Minute(5)
			before(s, window, read)
			for i, lux := range []int{800, 700, 600, 500} {
				read(20+10*i, lux, "sun")
			}
			n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(52))
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range n.Mixes {
				if m.Position != "face" {
					continue
				}
				if m.Drift == nil || !m.Drift.Since.Equal(stage.Minute(20).Time()) || !(m.Drift.Mired.Low > 0) {
					t.Errorf("got %+v, want the mix to get warmer, seen since minute 20", m.Drift)
				}
				return
			}
			t.Errorf("no mix at the face: %+v", n.Mixes)
		})
	}
}

// A falling window moves the mix though no lamp was touched.
func TestTheMixDriftsWithAWindow(t *testing.T) {
	s := stage.New(t)
	s.Set(s.Key, "rigged/on", "false")
	lamp := s.Light("lamp", "key", "rigged/on", "true", "intent", `"leave"`)
	s.Read(lamp, stage.OnLocus3200, "position", `"face"`, "illuminance", `{"value":800,"unit":"lux"}`)
	window := s.Light("window", "fill", "sky", `"dusk"`, "intent", `"leave"`, "rigged/on", "true")
	read := func(at, lux int) {
		s.Minute(at)
		s.Read(window, stage.OnLocus5600, "position", `"face"`, "sky", `"dusk"`, "illuminance", fmt.Sprintf(`{"value":%d,"unit":"lux"}`, lux))
	}
	read(4, 800)
	s.Minute(5)
	white := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"mix","position":"face"}`, "appliesFrom", `{"as":"time","at":`+stage.Stamp(5)+`}`)
	for i, lux := range []int{700, 600, 500, 400} {
		read(20+10*i, lux)
	}
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 52), deviation.MixDrifted)
	// 3200 K at 800 lx with 5600 K at 800 and at 400 lx; the first is 4138 K (white_test).
	tungsten, daylight := stage.TypedColor(t, stage.OnLocus3200), stage.TypedColor(t, stage.OnLocus5600)
	before, err := colorimetry.Mix([]colorimetry.Lit{{Light: tungsten, Lux: 800}, {Light: daylight, Lux: 800}})
	if err != nil {
		t.Fatal(err)
	}
	after, err := colorimetry.Mix([]colorimetry.Lit{{Light: tungsten, Lux: 800}, {Light: daylight, Lux: 400}})
	if err != nil {
		t.Fatal(err)
	}
	stage.Near(t, "drift of the mix", *d.Value.Mired, *figure.CastDifference(after.Light, before.Light).Mired, 0)
	if d.ComparedWith.Record != white || !strings.Contains(d.Words, "than the white that was chosen from it") {
		t.Errorf("got %+v", d)
	}
	n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(52))
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range n.Mixes {
		if m.Position == "face" && (m.Drift == nil || !(m.Drift.Mired.Low > 0) || len(m.Drift.Readings) != 5) {
			t.Errorf("got %+v, want a mix that gets warmer by five sums", m.Drift)
		}
	}
}

func TestTheMixLeavesItsLimitsBeforeItIsOutside(t *testing.T) {
	t.Run("at a position", func(t *testing.T) { mixLeaves(t, `{"as":"mix","position":"face"}`) })
	t.Run("anywhere", func(t *testing.T) { mixLeaves(t, `{"as":"mix"}`) })
}

func mixLeaves(t *testing.T, white string) {
	s := stage.New(t)
	fine := s.Add(kinds.Meter, "name", `"fine"`, "meterKind", `"spectrometer"`)
	s.Set(s.Key, "rigged/on", "false")
	lamp := s.Light("lamp", "key", "rigged/on", "true", "intent", `"leave"`)
	s.Read(lamp, stage.OnLocus3200, "position", `"face"`, "illuminance", `{"value":800,"unit":"lux"}`, "meter", stage.Ref(fine))
	window := s.Light("window", "fill", "sky", `"dusk"`, "intent", `"leave"`, "rigged/on", "true")
	for i := range 4 {
		s.Minute(5 + 10*i)
		s.Read(window, stage.OnLocus5600, "position", `"face"`, "sky", `"dusk"`, "meter", stage.Ref(fine),
			"illuminance", fmt.Sprintf(`{"value":%d,"unit":"lux"}`, 800-40*i))
		if i == 0 {
			s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", white, "appliesFrom", `{"as":"time","at":`+stage.Stamp(5)+`}`)
		}
	}
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 36), deviation.LightLeaving)
	if !strings.Contains(d.Words, "the mix will leave its limits") {
		t.Errorf("got %q", d.Words)
	}
}
