package setup_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

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
	for _, want := range []string{"window will leave", "18 mired warmer an hour", "by 4 readings from 08:10 UTC to 08:40 UTC",
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

func TestTimesInWordsAreThoseOfTheSet(t *testing.T) {
	for zone, want := range map[string]string{
		"+01:00": "17:38 UTC+1", "-03:30": "13:08 UTC-3:30", "+05:45": "22:23 UTC+5:45", "-00:30": "16:08 UTC-0:30", "Z": "16:38 UTC",
	} {
		typed, err := time.Parse(time.RFC3339, "2026-03-06T12:00:00"+zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := figure.ClockIn(time.Date(2026, 3, 6, 16, 38, 0, 0, time.UTC), figure.OffsetOf(typed)); got != want {
			t.Errorf("%s: got %q, want %q", zone, got, want)
		}
	}
	s := stage.New(t)
	for i := range 4 {
		s.Minute(10 + 10*i)
		at := stage.Minute(10 + 10*i).Time().In(time.FixedZone("", 3600)).Format(time.RFC3339)
		measured := fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.3f,"duv":0}`, 1e6/(179+2*float64(i)))
		s.Add(kinds.Reading, "setUp", stage.Ref(s.SetUp), "measured", measured, "takenAt", `"`+at+`"`,
			"of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(s.Key)))
	}
	drift := driftOfLight(s, s.Key).Lights[0].Trend
	if drift == nil || drift.LeavesAt == nil ||
		!strings.Contains(drift.Words, drift.LeavesAt.In(time.FixedZone("", 3600)).Format("15:04")+" UTC+1") {
		t.Errorf("got %+v, want its time by the clocks of the set", drift)
	}
}

func TestADriftInsideTheFloorOfTheMeterSaysSo(t *testing.T) {
	for perReading, want := range map[float64]bool{0.002: true, 0.5: true, 4: false} {
		s := stage.New(t)
		old := s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"threeSensor"`)
		for i := range 6 {
			s.Minute(10 + 8*i)
			s.Read(s.Key, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.3f,"duv":0}`, 1e6/(179+perReading*float64(i))), "meter", stage.Ref(old))
		}
		drift := driftOfLight(s, s.Key).Lights[0].Trend
		if drift == nil || strings.Contains(drift.Words, "steady, as far as the meter tells (±") != want {
			t.Errorf("%g mired from reading to reading: got %+v, want it called steady as far as the meter tells: %v", perReading, drift, want)
		}
	}
}

func TestNothingIsForeseenOfALightThatStays(t *testing.T) {
	s := stage.New(t)
	for i, mired := range []float64{179, 178, 179.5, 178.2, 179.1, 178.6} {
		s.Minute(10 + 8*i)
		s.Read(s.Key, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.3f,"duv":0}`, 1e6/mired))
	}
	drift := driftOfLight(s, s.Key).Lights[0].Trend
	if drift == nil || len(drift.Line) != 2 || drift.LeavesAt != nil || !strings.HasPrefix(drift.Words, "steady") {
		t.Errorf("got %+v, want a line between its readings and none ahead", drift)
	}
}

// What was read before the night says nothing of the morning.
func TestReadingsFromBeforeTheSetUpWasLeftMakeNoDrift(t *testing.T) {
	s := stage.New(t)
	for i, m := range []int{10, 20, 30, 13 * 60, 13*60 + 15, 13*60 + 30} {
		s.Minute(m)
		s.Read(s.Key, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.3f,"duv":0}`, 1e6/(179+float64(i))))
	}
	d, err := setup.Drifts(s.Book(), s.SetUp, s.Key, s.Clock)
	if err != nil || d.Lights[0].Trend != nil || !strings.Contains(d.Lights[0].NoTrend, "3 of 4") {
		t.Errorf("got %+v (%v), want the three of the morning alone", d.Lights, err)
	}
}
