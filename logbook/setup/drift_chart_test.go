package setup_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func TestADriftIsThatOfOneState(t *testing.T) {
	s := stage.New(t)
	for i, k := range []int{5550, 5500, 5450, 5400} {
		s.Minute(10 * (i + 1))
		s.Read(s.Key, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%d,"duv":0.001}`, k), "illuminance", `{"value":700,"unit":"lux"}`)
	}
	d := driftOfLight(s, logbook.ID{})
	l := d.Lights[0]
	// 1e6/5400 − 1e6/5600 = 6.6 mired in 40 minutes.
	if len(l.Readings) != 5 || l.Trend == nil || len(l.Trend.Readings) != 5 || len(l.Trend.Line) != 3 {
		t.Fatalf("got %+v", l)
	}
	stage.Near(t, "mired an hour", l.Trend.Mired.PerHour, 10, 1)
	from, to, ahead := l.Trend.Line[0], l.Trend.Line[1], l.Trend.Line[2]
	stage.Near(t, "from", from.Mired, 179, 1)
	stage.Near(t, "to", to.Mired, 185, 1)
	if !from.At.Equal(l.Readings[0].TakenAt) || !to.At.Equal(l.Readings[4].TakenAt) {
		t.Errorf("the line leads from %v to %v, beyond the readings", from.At, to.At)
	}
	// No further ahead than was observed, and on the same line.
	if ahead.At.Sub(to.At) != to.At.Sub(from.At) {
		t.Errorf("foreseen until %v, want as far ahead as from %v to %v", ahead.At, from.At, to.At)
	}
	stage.Near(t, "foreseen", ahead.Mired, 2*to.Mired-from.Mired, 0.2)
	if len(d.Lights) != 1 {
		t.Errorf("one light has no mix: got %+v", d.Lights[1:])
	}
	s.Minute(50)
	s.Set(s.Key, "rigged/dialKelvin", "5000")
	s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5000,"duv":0}`)
	l = driftOfLight(s, s.Key).Lights[0]
	if l.Trend != nil || !strings.Contains(l.NoTrend, "1 of 4 in one state") {
		t.Errorf("after the dial was turned: got %+v, %q", l.Trend, l.NoTrend)
	}
	if changed := l.Readings[5].Changed; !slices.Equal(changed, []string{"its kelvin dial was turned from 5600 to 5000"}) {
		t.Errorf("changed: got %q", changed)
	}
}

func driftOfLight(s *stage.Stage, light logbook.ID) setup.SetUpDrift {
	s.T.Helper()
	d, err := setup.Drifts(s.Book(), s.SetUp, light, stage.Minute(60))
	if err != nil {
		s.T.Fatal(err)
	}
	return d
}

func TestDriftShowsWhitesTakesAndTheMix(t *testing.T) {
	s := stage.New(t)
	bulb := s.Light("bulb", "fill")
	s.Minute(5)
	s.Read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`, "illuminance", `{"value":800,"unit":"lux"}`)
	s.Minute(10)
	s.Shoot("5600", "5600")
	s.Minute(20)
	second := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":6900,"duv":0.003}`, "illuminance", `{"value":400,"unit":"lux"}`)
	cloud := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "appliesFrom", `{"as":"time","at":`+stage.Stamp(20)+`}`,
		"from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(second)))
	d := driftOfLight(s, logbook.ID{})
	if len(d.Takes) != 1 || d.Takes[0].Key != "1" || !d.Takes[0].At.Equal(stage.Minute(10).Time()) {
		t.Errorf("takes: got %+v", d.Takes)
	}
	if len(d.Whites) != 2 || d.Whites[0].White != s.White || d.Whites[0].From != nil || d.Whites[1].White != cloud ||
		!d.Whites[0].Until.Equal(stage.Minute(20).Time()) || !d.Whites[1].From.Equal(stage.Minute(20).Time()) {
		t.Errorf("whites: got %+v", d.Whites)
	}
	mix := d.Lights[2]
	if mix.Key != "mix" || len(mix.Readings) != 2 || !mix.Readings[0].TakenAt.Equal(stage.Minute(5).Time()) {
		t.Fatalf("the mix: got %+v", mix)
	}
	stage.Near(t, "the mix at first", *mix.Readings[0].Color.CCTKelvin, 4137.6, 10)
	stage.Near(t, "its lux", *mix.Readings[0].IlluminanceLux, 1600, 0)
	stage.Near(t, "the key on its own white", *d.Lights[0].Readings[1].StepsOff, 0, 0)
	if d.Lights[0].Limits.Role != "key" {
		t.Errorf("got %+v", d.Lights[0].Limits)
	}
	other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"D"`)
	for _, light := range []logbook.ID{s.Reading, s.Add(kinds.Light, "setUp", stage.Ref(other), "name", `"elsewhere"`)} {
		if _, err := setup.Drifts(s.Book(), s.SetUp, light, stage.Minute(60)); !errors.Is(err, logbook.ErrNoRecord) {
			t.Errorf("light %s: got %v, want ErrNoRecord", light, err)
		}
	}
}

// TestDriftNeedsTimeAndOneSky: too short, and over two skies.
func TestDriftNeedsTimeAndOneSky(t *testing.T) {
	s := stage.New(t)
	window := s.Light("window", "fill", "sky", `"sun"`)
	for i := range 4 {
		s.Minute(3 + i)
		s.Read(window, stage.OnLocus5600, "sky", `"sun"`)
	}
	if l := driftOfLight(s, window).Lights[0]; l.Trend != nil || !strings.Contains(l.NoTrend, "span of the readings in minutes") {
		t.Errorf("within minutes: got %+v, %q", l.Trend, l.NoTrend)
	}
	s.Minute(40)
	s.Read(window, stage.OnLocus5600, "sky", `"cloud"`)
	if l := driftOfLight(s, window).Lights[0]; l.Trend != nil || !strings.Contains(l.NoTrend, "1 of 4") {
		t.Errorf("over two skies: got %+v, %q", l.Trend, l.NoTrend)
	}
	if got := driftOfLight(s, window).At; !got.Equal(stage.Minute(60).Time().In(time.UTC)) {
		t.Errorf("at %v", got)
	}
}

// The chart, what moves now and what is raised rest on the same readings, whatever was
// logged: skies that change, lamps that are turned, readings at other places, struck out
// or long ago.
func TestTheChartShowsTheDriftThatNowShows(t *testing.T) {
	drifts, mixes := 0, 0
	rapid.Check(t, func(r *rapid.T) {
		s := stage.New(t)
		lights := []logbook.ID{s.Key, s.Light("window", "fill", "rigged/on", "true")}
		at, perHour := 3, rapid.Float64Range(2, 12).Draw(r, "mired an hour")
		for range rapid.IntRange(6, 20).Draw(r, "readings") {
			at += rapid.SampledFrom([]int{4, 6, 9, 9, 12, 15, 15, 20, 800}).Draw(r, "minutes later")
			s.Minute(at)
			light := rapid.SampledFrom(lights).Draw(r, "light")
			mired := 179 + perHour*float64(at%800)/60 + rapid.Float64Range(-0.1, 0.1).Draw(r, "off the line")
			skies := []string{`"sun"`, `"sun"`, `"sun"`, `"sun"`, `"sun"`, `"sun"`, `"sun"`, `"cloud"`}
			more := []string{"illuminance", `{"value":700,"unit":"lux"}`, "sky", rapid.SampledFrom(skies).Draw(r, "sky")}
			if rapid.IntRange(0, 15).Draw(r, "elsewhere") == 0 {
				more = append(more, "position", `"door"`)
			}
			reading := s.Read(light, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.3f,"duv":0.001}`, 1e6/mired), more...)
			switch rapid.IntRange(0, 30).Draw(r, "then") {
			case 0:
				s.Set(light, "rigged/dialKelvin", fmt.Sprint(rapid.IntRange(50, 60).Draw(r, "dial")*100))
			case 1:
				s.Set(reading, "struckOut", `{"reason":"a hand in front"}`)
			}
		}
		now := stage.Minute(at + 1)
		n, err := glance.Now(s.Book(), s.SetUp, now)
		if err != nil {
			r.Fatal(err)
		}
		d, err := setup.Drifts(s.Book(), s.SetUp, logbook.ID{}, now)
		if err != nil {
			r.Fatal(err)
		}
		raised := ""
		for _, d := range deviation.Of(s.Book(), deviation.Scope{SetUp: s.SetUp}, now) {
			raised += d.Words + "\n"
		}
		for i, l := range n.Lights {
			same(r, d.Lights[i].Trend, l.Drift)
			if l.Drift != nil {
				drifts++
				about := l.Name + " will leave its limits about "
				if strings.Contains(raised, about) && (l.Drift.LeavesAt == nil ||
					!strings.Contains(raised, about+figure.ClockIn(*l.Drift.LeavesAt, time.UTC)+", if it goes on: it gets "+l.Drift.Course)) {
					r.Fatalf("raised is %q, now shows %+v", raised, l.Drift)
				}
			}
			if (d.Lights[i].Trend == nil) != (d.Lights[i].NoTrend != "") {
				r.Fatalf("a drift %+v, and none because %q", d.Lights[i].Trend, d.Lights[i].NoTrend)
			}
		}
		for _, m := range n.Mixes {
			name := "mix of the lights that are on"
			if m.Position != "" {
				name += ", at " + m.Position
			}
			if len(d.Lights) > 2 && d.Lights[2].Name == name {
				same(r, d.Lights[2].Trend, m.Drift)
				mixes++
			}
		}
	})
	if drifts == 0 || mixes == 0 {
		t.Errorf("%d drifts and %d mixes were compared: the logs show too few", drifts, mixes)
	}
}

func same(t *rapid.T, chart, now *setup.Drift) {
	t.Helper()
	a, err := json.Marshal(chart)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(now)
	if err != nil || !bytes.Equal(a, b) {
		t.Fatalf("the chart shows %s, now shows %s (%v)", a, b, err)
	}
}

func TestTheChartFollowsTheMixWhereThereIsOne(t *testing.T) {
	s := stage.New(t)
	bulb := s.Light("bulb", "fill", "rigged/on", "true")
	both := func(minutes int, position string) {
		s.Minute(minutes)
		for light, measured := range map[logbook.ID]string{s.Key: stage.OnLocus5600, bulb: stage.OnLocus3200} {
			s.Read(light, measured, "illuminance", `{"value":400,"unit":"lux"}`, "position", stage.Quoted(position))
		}
	}
	both(10, "face")
	both(20, "table")
	s.Minute(30)
	s.Read(s.Key, stage.OnLocus5600, "position", `"door"`) // one light makes no mix
	d := driftOfLight(s, logbook.ID{})
	if len(d.Lights) != 3 || d.Lights[2].Name != "mix of the lights that are on, at table" {
		t.Fatalf("got %+v, want the mix at the table, which was read last", d.Lights)
	}
	// At one light's reading there the other may not have been read: one or two sums.
	if all := d.Lights[2].Readings; len(all) == 0 || all[len(all)-1].TakenAt != stage.Minute(20).Time() {
		t.Errorf("got %+v, want no sum from a reading at the door", all)
	}
}
