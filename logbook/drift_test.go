package logbook

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

func TestDriftIsToldWithinOneState(t *testing.T) {
	s := newStage(t)
	for i, k := range []int{5550, 5500, 5450, 5400} {
		s.minute(10 * (i + 1))
		s.read(s.key, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%d,"duv":0.001}`, k), "illuminance", `{"value":700,"unit":"lux"}`)
	}
	d := s.drift(ID{})
	l := d.Lights[0]
	// 1e6/5400 − 1e6/5600 = 6.6 mired in 40 minutes.
	if len(l.Readings) != 5 || l.Trend == nil || l.Trend.Readings != 5 {
		t.Fatalf("got %+v", l)
	}
	near(t, "mired an hour", l.Trend.MiredPerHour, 10, 1)
	near(t, "from", l.Trend.FromMired, 179, 1)
	near(t, "to", l.Trend.ToMired, 185, 1)
	if !l.Trend.From.Equal(l.Readings[0].TakenAt) || !l.Trend.To.Equal(l.Readings[4].TakenAt) {
		t.Errorf("the line leads from %v to %v, beyond the readings", l.Trend.From, l.Trend.To)
	}
	if len(d.Lights) != 1 {
		t.Errorf("one light has no mix: got %+v", d.Lights[1:])
	}
	s.minute(50)
	s.set(s.key, "rigged/dialKelvin", "5000")
	s.read(s.key, `{"as":"cctDuv","cctKelvin":5000,"duv":0}`)
	l = s.drift(s.key).Lights[0]
	if l.Trend != nil || !strings.Contains(l.NoTrend, "1 of 4 in one state") {
		t.Errorf("after the dial was turned: got %+v, %q", l.Trend, l.NoTrend)
	}
	if changed := l.Readings[5].Changed; !slices.Equal(changed, []string{"kelvin dial from 5600 to 5000"}) {
		t.Errorf("changed: got %q", changed)
	}
}

func (s *stage) drift(light ID) SetUpDrift {
	s.t.Helper()
	d, err := DriftOf(s.book(), s.setUp, light, minute(60))
	if err != nil {
		s.t.Fatal(err)
	}
	return d
}

func TestDriftShowsWhitesTakesAndTheMix(t *testing.T) {
	s := newStage(t)
	bulb := s.light("bulb", "fill")
	s.minute(5)
	s.read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`, "illuminance", `{"value":800,"unit":"lux"}`)
	s.minute(10)
	s.shoot("5600", "5600")
	s.minute(20)
	second := s.read(s.key, `{"as":"cctDuv","cctKelvin":6900,"duv":0.003}`, "illuminance", `{"value":400,"unit":"lux"}`)
	cloud := s.add(KindWhite, "setUp", ref(s.setUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(second)), "appliesFrom", `{"as":"time","at":`+stamp(20)+`}`)
	d := s.drift(ID{})
	if len(d.Takes) != 1 || d.Takes[0].Key != "1" || !d.Takes[0].At.Equal(minute(10).Time()) {
		t.Errorf("takes: got %+v", d.Takes)
	}
	if len(d.Whites) != 2 || d.Whites[0].White != s.white || d.Whites[0].From != nil || d.Whites[1].White != cloud ||
		!d.Whites[0].Until.Equal(minute(20).Time()) || !d.Whites[1].From.Equal(minute(20).Time()) {
		t.Errorf("whites: got %+v", d.Whites)
	}
	mix := d.Lights[2]
	if mix.Key != "mix" || len(mix.Readings) != 2 || !mix.Readings[0].TakenAt.Equal(minute(5).Time()) {
		t.Fatalf("the mix: got %+v", mix)
	}
	near(t, "the mix at first", *mix.Readings[0].Color.CCTKelvin, 4137.6, 10)
	near(t, "its lux", *mix.Readings[0].IlluminanceLux, 1600, 0)
	near(t, "the key on its own white", *d.Lights[0].Readings[1].StepsOff, 0, 0)
	if d.Lights[0].Limits.Role != "key" {
		t.Errorf("got %+v", d.Lights[0].Limits)
	}
	for _, light := range []ID{s.reading, s.add(KindLight, "setUp", ref(s.add(KindSetUp, "day", ref(s.day), "name", `"D"`)), "name", `"elsewhere"`)} {
		if _, err := DriftOf(s.book(), s.setUp, light, minute(60)); !errors.Is(err, ErrNoRecord) {
			t.Errorf("light %s: got %v, want ErrNoRecord", light, err)
		}
	}
}

// TestDriftNeedsTimeAndOneSky: too short, and over two skies.
func TestDriftNeedsTimeAndOneSky(t *testing.T) {
	s := newStage(t)
	for i := range 4 {
		s.minute(3 + i)
		s.read(s.key, onLocus5600)
	}
	if l := s.drift(s.key).Lights[0]; l.Trend != nil || !strings.Contains(l.NoTrend, "span of the readings in minutes") {
		t.Errorf("within minutes: got %+v, %q", l.Trend, l.NoTrend)
	}
	s.minute(40)
	s.read(s.key, onLocus5600, "sky", `"cloud"`)
	if l := s.drift(s.key).Lights[0]; l.Trend != nil || !strings.Contains(l.NoTrend, "1 of 4") {
		t.Errorf("over two skies: got %+v, %q", l.Trend, l.NoTrend)
	}
	if got := s.drift(s.key).At; !got.Equal(minute(60).Time().In(time.UTC)) {
		t.Errorf("at %v", got)
	}
}
