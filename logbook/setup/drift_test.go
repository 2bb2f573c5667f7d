package setup_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func lightNow(t *testing.T, s *stage.Stage, name string, at int) glance.LightNow {
	t.Helper()
	n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(at))
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range n.Lights {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("no light %s", name)
	return glance.LightNow{}
}

// The window starts 6 mired cool and gets 3 warmer every 10 minutes: at +3 after
// half an hour, it passes the fill's +10 (shown: beyond 10, from 10.5 on) when 7.5
// more have come, 25 minutes later.
func TestADriftIsRaisedBeforeTheToleranceIsLeft(t *testing.T) {
	s := stage.New(t)
	s.FallingWindow(10, 10, 4, 3)
	all := s.Deviations(s.SetUp, 42)
	d := stage.DeviationOf(t, all, deviation.LightLeaving)
	for _, want := range []string{"window will leave", "18 mired warmer an hour", "by 4 readings in 30 minutes",
		"leave its limits about 09:05 UTC, if it goes on: it gets 18"} {
		if !strings.Contains(d.Words, want) {
			t.Errorf("got %q, want it to say %q", d.Words, want)
		}
	}
	stage.Near(t, "minutes after the last reading", *d.Value.Minutes, 25, 0)
	l := lightNow(t, s, "window", 42)
	if l.Drift == nil || l.Drift.LeavesAt == nil ||
		!l.Drift.LeavesAt.Equal(stage.Minute(65).Time()) || !l.Drift.ForecastUntil.Equal(stage.Minute(70).Time()) {
		t.Fatalf("got %+v, want it to leave at minute 65, with a forecast up to 70", l.Drift)
	}
	stage.Near(t, "drift", l.Drift.Mired.PerHour, 18, 0)
	if l.Drift.Stops == nil || !(l.Drift.Stops.High < 0) {
		t.Errorf("got %+v stops an hour, want it to get darker", l.Drift.Stops)
	}
	if *l.Within != true {
		t.Error("the light is outside already, want it inside")
	}
	t.Run("and no more once it is outside", func(t *testing.T) {
		s.Minute(70)
		s.Read(s.OfName("window"), stage.CctDuv(1e6/(1e6/5600+12), 0), "sky", `"sun"`, "position", `"face"`)
		got := stage.KindWords(s.Deviations(s.SetUp, 71))
		if strings.Contains(got, deviation.LightLeaving) || !strings.Contains(got, deviation.LightOffReference) {
			t.Errorf("got %q, want it off and not leaving", got)
		}
	})
}

func TestNoDriftIsRaised(t *testing.T) {
	for name, c := range map[string]struct {
		readings func(s *stage.Stage)
		at       int
	}{
		"from three readings":       {func(s *stage.Stage) { s.FallingWindow(10, 10, 3, 3) }, 42},
		"from less than 20 minutes": {func(s *stage.Stage) { s.FallingWindow(10, 5, 4, 3) }, 42},
		"over a cloud": {func(s *stage.Stage) {
			w := s.FallingWindow(10, 10, 3, 3)
			s.Minute(40)
			s.Read(w, stage.OnLocus5600, "sky", `"cloud"`, "position", `"face"`)
		}, 42},
		"at another place": {func(s *stage.Stage) {
			w := s.FallingWindow(10, 10, 3, 3)
			s.Minute(40)
			s.Read(w, stage.OnLocus5600, "sky", `"sun"`, "position", `"door"`)
		}, 42},
		"by a meter nobody compared":  {func(s *stage.Stage) { s.TwoMeters(0) }, 42},
		"further ahead than observed": {func(s *stage.Stage) { s.FallingWindow(10, 10, 4, 1) }, 42},
		"where nobody works any more": {func(s *stage.Stage) { s.FallingWindow(10, 10, 4, 3); s.Set(s.Day, "closed", "true") }, 42},
		"of a lamp that was touched": {func(s *stage.Stage) {
			w := s.FallingWindow(10, 10, 4, 3)
			s.Set(w, "rigged/levelPercent", "100")
			s.Minute(41)
			s.Set(w, "rigged/levelPercent", "50")
		}, 42},
	} {
		t.Run(name, func(t *testing.T) {
			s := stage.New(t)
			c.readings(s)
			if got := stage.KindWords(s.Deviations(s.SetUp, c.at)); strings.Contains(got, deviation.LightLeaving) {
				t.Errorf("got %q, want no %s", got, deviation.LightLeaving)
			}
		})
	}
}

// What was read under another sky, at another place or with the lamp set otherwise
// is another light: it neither counts nor hides the drift of this one.
func TestADriftCountsReadingsOfOneStateOnly(t *testing.T) {
	wild := stage.CctDuv(1e6/(1e6/5600+120), 0)
	for name, before := range map[string]func(s *stage.Stage, w logbook.ID, at int){
		"sky":   func(s *stage.Stage, w logbook.ID, _ int) { s.Read(w, wild, "sky", `"cloud"`, "position", `"face"`) },
		"place": func(s *stage.Stage, w logbook.ID, _ int) { s.Read(w, wild, "sky", `"sun"`, "position", `"door"`) },
		"level": func(s *stage.Stage, w logbook.ID, at int) {
			s.Set(w, "rigged/levelPercent", "40")
			s.Minute(at + 1)
			s.Read(w, wild, "sky", `"sun"`, "position", `"face"`)
			s.Minute(at + 2)
			s.Set(w, "rigged/levelPercent", "100")
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := stage.New(t)
			window := s.Light("window", "fill", "sky", `"sun"`, "rigged/levelPercent", "100", "rigged/on", "true")
			for i := range 4 {
				s.Minute(7 + 10*i)
				before(s, window, 7+10*i)
				s.Minute(10 + 10*i)
				s.Read(window, stage.CctDuv(1e6/(1e6/5600-6+float64(i)*3), 0), "sky", `"sun"`, "position", `"face"`)
			}
			l := lightNow(t, s, "window", 42)
			if l.Drift == nil || len(l.Drift.Readings) != 4 {
				t.Fatalf("got %+v, want a drift by the 4 readings of one state", l.Drift)
			}
			stage.Near(t, "mired an hour", l.Drift.Mired.PerHour, 18, 0)
		})
	}
}

// The line would leave the limits in time, but readings that go to and fro say no
// direction.
func TestNoTimeIsForeseenWhereTheDirectionIsInDoubt(t *testing.T) {
	s := stage.New(t)
	window := s.Light("window", "fill", "sky", `"sun"`, "rigged/on", "true")
	for i, warmer := range []float64{0, 9, 3, 9.5} {
		s.Minute(10 + 10*i)
		s.Read(window, stage.CctDuv(1e6/(1e6/5600+warmer), 0), "sky", `"sun"`, "position", `"face"`)
	}
	l := lightNow(t, s, "window", 42)
	if l.Drift == nil || l.Drift.LeavesAt != nil || !(l.Drift.Mired.PerHour > 10 && l.Drift.Mired.Low < 0) {
		t.Errorf("got %+v, want a line of more than 10 mired an hour, and no time", l.Drift)
	}
}

// A window that gets 3 mired warmer in half an hour, of which a second meter shows
// 11: without a comparison it has drifted too far, with one it has not.
func TestADriftAcrossTwoMetersIsCountedWithWhatTheyDifferBy(t *testing.T) {
	s := stage.New(t)
	s.TwoMeters(0)
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 42), deviation.LightDrifted)
	stage.Near(t, "drift", *d.Value.Mired, 11, 0)
	if !strings.Contains(d.Words, "never compared") || !strings.Contains(d.Words, "together") {
		t.Errorf("got %q, want the floors of both meters", d.Words)
	}
	s = stage.New(t)
	s.TwoMeters(2)
	if got := stage.KindWords(s.Deviations(s.SetUp, 42)); strings.Contains(got, deviation.LightDrifted) {
		t.Errorf("got %q, want no drift: the meters differ", got)
	}
	l := lightNow(t, s, "window", 42)
	stage.Near(t, "drift", *l.DriftSinceFirst.Mired, 3, 0)
	stage.Near(t, "Duv", *l.DriftSinceFirst.Duv, 0, 0)
	if !strings.Contains(l.DriftSinceFirst.Words, "two meters differ by: 8") || l.Drift == nil || len(l.Drift.Readings) != 4 {
		t.Errorf("got %q, %+v", l.DriftSinceFirst.Words, l.Drift)
	}
}

// On a straight line the forecast is the first minute at which the line, computed
// anew, is outside the limits; and none beyond the span that was observed.
func TestTheForecastIsWhereTheLineLeavesItsLimits(t *testing.T) {
	for _, perHour := range []float64{-15, math.Nextafter(-15, 0), -14.999999999999986, 15, 14.999999999999986} {
		sameForecast(t, 0, perHour, 7, 4) // on the limit at the horizon, to the last bits
	}
	rapid.Check(t, func(t *rapid.T) {
		from, perHour := rapid.Float64Range(-9, 9).Draw(t, "from"), rapid.Float64Range(-40, 40).Draw(t, "mired an hour")
		every, count := rapid.IntRange(7, 40).Draw(t, "minutes apart"), rapid.IntRange(4, 9).Draw(t, "readings")
		if 1e6/5600+from+perHour*float64(2*(count-1)*every)/60 < 15 {
			t.Skip("the line would end beyond any light: the domain begins at 10 mired")
		}
		sameForecast(t, from, perHour, every, count)
	})
}

// sameForecast compares with a line that starts so many mired from the reference. Where
// it stands on a limit to the last bits, rounding decides: there either side is right.
func sameForecast(t rapid.TB, from, perHour float64, every, count int) {
	t.Helper()
	reference := lightOf(t, 5600, 0)
	line := func(minutes, aside float64) colorimetry.XY {
		return lightOf(t, 1e6/(1e6/5600+from+perHour*minutes/60+aside), 0.0005)
	}
	var o setup.Observed
	for i := range count {
		o.Add(&lighting.Reading{Reading: logbook.ID{15: byte(i + 1)}, TakenAt: stage.Minute(i * every)}, "sun", line(float64(i*every), 0), 0, nil)
	}
	limits, last := setup.StartLimits("key"), (count-1)*every
	off := func(xy colorimetry.XY) figure.Difference { return figure.CastDifference(xy, reference) }
	drift, err := o.Drift(line(float64(last), 0), off, limits)
	if err != nil {
		t.Fatalf("no drift from %d readings over %d minutes: %v", count, last, err)
	}
	if !drift.ForecastUntil.Equal(stage.Minute(2 * last).Time()) {
		t.Fatalf("forecast until %v, want as far ahead as was observed", drift.ForecastUntil)
	}
	first := func(outside func(m int) bool) int { // 2*last+1: never
		for m := last; m <= 2*last; m++ {
			if outside(m) {
				return m
			}
		}
		return 2*last + 1
	}
	beyond := func(m int, aside float64) bool {
		_, beyond := limits.Exceeded(off(line(float64(m), aside)))
		return beyond
	}
	const bits = 1e-7 // mired
	earliest := first(func(m int) bool { return beyond(m, bits) || beyond(m, -bits) })
	latest := first(func(m int) bool { return beyond(m, bits) && beyond(m, -bits) })
	if beyond(last, 0) || math.Abs(perHour) < 1e-6 {
		earliest, latest = 2*last+1, 2*last+1 // it is outside already, or goes nowhere
	}
	got := 2*last + 1
	if drift.LeavesAt != nil {
		got = int(drift.LeavesAt.Sub(stage.Minute(0).Time()).Minutes())
	}
	if got < earliest || got > latest {
		t.Fatalf("from %v by %v mired an hour: it leaves at minute %d of %d, want from %d to %d",
			from, perHour, got, 2*last, earliest, latest)
	}
}

func lightOf(t rapid.TB, kelvin, duv float64) colorimetry.XY {
	xy, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(kelvin), Duv: colorimetry.Duv(duv)}.XY()
	if err != nil {
		t.Fatal(err)
	}
	return xy
}

// The white was read by another meter than the light: both floors count.
func TestALightAgainstAWhiteByAnotherMeterCarriesBothFloors(t *testing.T) {
	s := stage.New(t)
	hand := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"threeSensor"`)
	white := s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(hand))
	s.Minute(3)
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`,
		"from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(white)))
	fill := s.Light("panel right", "fill", "rigged/on", "true")
	s.Read(fill, stage.CctDuv(5200, 0), "meter", stage.Ref(old))
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 5), deviation.LightOffReference)
	if !strings.Contains(d.Words, "by another meter, and the two tell ±") || !strings.Contains(d.Words, "never compared") {
		t.Errorf("got %q", d.Words)
	}
}
