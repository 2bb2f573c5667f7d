package picture

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/setup"
)

// names that people could type, and some that they had better not.
var names = rapid.OneOf(rapid.SampledFrom([]string{
	"", "window", "panel behind the curtain at the far end", `<script>alert(1)</script>`, `"><g onload="x()">`, "]]>", "&amp;", "a\x00b\x1bc", "\u202egnp.exe",
	"灯光很长很长的名字很长很长的名字很长很长的名字很长很长", "ÄÖÜ…WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
}), rapid.StringN(0, 40, 120))

func anyColor(t *rapid.T, label string) figure.Shown {
	if rapid.IntRange(0, 5).Draw(t, label+" coloured") == 0 {
		return coloured(rapid.Float64Range(0.02, 0.6).Draw(t, label+" u"), rapid.Float64Range(0.05, 0.58).Draw(t, label+" v"))
	}
	mired, green := rapid.Float64Range(20, 600).Draw(t, label+" mired"), 0.015
	if mired > 400 {
		green = 0 // above it lie colours beyond the spectrum
	}
	return shown(float64(int(1e6/mired)), rapid.Float64Range(-0.015, green).Draw(t, label+" Duv"))
}

func anyVerdict(t *rapid.T, label string) *bool {
	return []*bool{nil, pointer(true), pointer(false)}[rapid.IntRange(0, 2).Draw(t, label)]
}

func anyPlane(t *rapid.T) glance.SetUpPlane {
	p := glance.SetUpPlane{Name: names.Draw(t, "name"), Words: names.Draw(t, "words"), StepUV: 0.0011}
	if rapid.Bool().Draw(t, "white") {
		c := anyColor(t, "white")
		p.Points = append(p.Points, glance.PlanePoint{Mark: "white", Key: "white", Name: "white", Color: c})
		p.Rings = append(p.Rings, circle("white", c, rapid.Float64Range(1, 30).Draw(t, "steps")))
	}
	for i := range rapid.IntRange(0, 14).Draw(t, "lights") {
		p.Points = append(p.Points, light(i+1, names.Draw(t, "light"), anyColor(t, fmt.Sprint(i+1)), anyVerdict(t, "within")))
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "cameras") {
		p.Points = append(p.Points, glance.PlanePoint{
			Mark: "camera", Key: string(rune('A' + i)), Record: recordID(100 + i), Name: "camera",
			Color: anyColor(t, "camera"), Within: anyVerdict(t, "within"), Words: names.Draw(t, "words"),
		})
	}
	if rapid.Bool().Draw(t, "unplaced") {
		p.Unplaced = append(p.Unplaced, glance.Unplaced{Name: names.Draw(t, "unplaced"), Problem: names.Draw(t, "problem")})
	}
	return p
}

// mustHold: the element that stands for a thing says of it what the answer says.
func mustHold(t rapid.TB, e element, want map[string]*float64) {
	t.Helper()
	for name, v := range want {
		text := ""
		if v != nil {
			text = number(*v)
		}
		if e.at[name] != text {
			t.Errorf("%s is %q in the picture, the answer says %q: %v", name, e.at[name], text, e.at)
		}
	}
}

func TestAnyPlaneIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plane := anyPlane(t)
		svg := Plane(plane)
		if !bytes.Equal(svg, Plane(plane)) {
			t.Fatal("drawn twice it differs")
		}
		all := mustBePicture(t, svg)
		drawn := data(all, "data-key")
		for _, at := range plane.Points {
			e, ok := drawn[at.Key]
			if !ok {
				t.Errorf("%s %q is not in the picture", at.Mark, at.Key)
				continue
			}
			mustHold(t, e, map[string]*float64{"data-u": &at.Color.UPrime, "data-v": &at.Color.VPrime, "data-mired": at.Color.Mired,
				"data-duv": at.Color.Duv, "data-cct-kelvin": at.Color.CCTKelvin})
		}
		if len(drawn) != len(plane.Points) {
			t.Errorf("%d things are drawn, the answer has %d", len(drawn), len(plane.Points))
		}
	})
}

func anyDrift(t *rapid.T) setup.SetUpDrift {
	unit := rapid.SampledFrom([]time.Duration{time.Second, time.Minute, time.Hour, 24 * time.Hour, 400 * 24 * time.Hour}).Draw(t, "unit")
	at := func(label string) time.Time {
		return noon.Add(time.Duration(rapid.IntRange(0, 60).Draw(t, label)) * unit)
	}
	d := setup.SetUpDrift{Name: names.Draw(t, "name"), At: noon, Words: "some"}
	n := 0
	for i := range rapid.IntRange(0, 12).Draw(t, "lights") {
		l := setup.LightDrift{Light: recordID(i + 1), Key: fmt.Sprint(i + 1), Name: names.Draw(t, "light"), Role: "key", Intent: "match",
			Words: names.Draw(t, "words")}
		if rapid.Bool().Draw(t, "limits") {
			l.Limits = &figure.Limits{Role: "key", Mired: rapid.Float64Range(0, 50).Draw(t, "limit"), DuvGreen: 0.003, DuvMagenta: 0.002, Steps: 5}
		}
		for range rapid.IntRange(0, 20).Draw(t, "readings") {
			n++
			r := setup.DriftReading{Reading: recordID(100 + n), TakenAt: at("taken"), Position: names.Draw(t, "position")}
			if rapid.IntRange(0, 9).Draw(t, "colour") > 0 {
				r.Color, r.StepsOff = pointer(anyColor(t, "colour")), pointer(rapid.Float64Range(0, 300).Draw(t, "steps"))
			} else {
				r.Problem = "it cannot be"
			}
			if rapid.Bool().Draw(t, "lit") {
				r.IlluminanceLux = pointer(rapid.Float64Range(0, 120000).Draw(t, "lux"))
			}
			l.Readings = append(l.Readings, r)
		}
		if len(l.Readings) > 3 && rapid.Bool().Draw(t, "trend") {
			l.Trend = anyTrend(t, unit)
		}
		d.Lights = append(d.Lights, l)
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "whites") {
		w := setup.WhiteStep{White: recordID(3000 + i), Words: names.Draw(t, "white")}
		if i > 0 {
			w.From = pointer(at("from"))
		}
		if rapid.Bool().Draw(t, "resolved") {
			w.Color = pointer(anyColor(t, "white"))
		}
		d.Whites = append(d.Whites, w)
	}
	for i := range rapid.IntRange(0, 60).Draw(t, "takes") {
		d.Takes = append(d.Takes, setup.TakeMark{Take: recordID(4000 + i), Name: "take", Key: names.Draw(t, "key"), At: at("take")})
	}
	return d
}

// anyTrend is a line through three equal spans of time, the last of them foreseen.
func anyTrend(t *rapid.T, unit time.Duration) *setup.Drift {
	from, every := noon.Add(time.Duration(rapid.IntRange(0, 60).Draw(t, "since"))*unit),
		time.Duration(rapid.IntRange(1, 60).Draw(t, "span"))*unit
	out := &setup.Drift{Words: "some"}
	mired, duv := rapid.Float64Range(20, 600).Draw(t, "mired"), rapid.Float64Range(-0.03, 0.03).Draw(t, "duv")
	for i := range rapid.IntRange(2, 3).Draw(t, "points") {
		out.Line = append(out.Line, setup.LinePoint{At: from.Add(time.Duration(i) * every), Mired: mired * (1 + 0.1*float64(i)),
			Duv: duv * float64(i)})
	}
	if len(out.Line) == 3 && rapid.Bool().Draw(t, "leaves") {
		out.LeavesAt = pointer(out.Line[1].At.Add(every / 2))
	}
	return out
}

func TestAnyDriftIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		drift := anyDrift(t)
		zone := time.FixedZone("UTC+13", 13*3600)
		svg := Drift(drift, zone)
		if !bytes.Equal(svg, Drift(drift, zone)) {
			t.Fatal("drawn twice it differs")
		}
		all := mustBePicture(t, svg)
		dots := map[string]map[string]string{}
		for _, e := range all {
			if id := e.at["data-reading"]; id != "" {
				if dots[id] == nil {
					dots[id] = map[string]string{}
				}
				for name, v := range e.at {
					dots[id][name] = v
				}
			}
		}
		lights, takes := data(all, "data-light"), data(all, "data-take")
		count := func(name, value string) (n int) {
			for _, e := range all {
				if e.at[name] == value {
					n++
				}
			}
			return n
		}
		for _, l := range drift.Lights {
			mustShowTrend(t, l, count)
			if _, ok := lights[l.Key]; !ok {
				t.Errorf("light %s is not in the picture", l.Key)
			}
			whites, shows := 0, 0
			for _, r := range l.Readings {
				if r.Color != nil && r.Color.Mired != nil {
					whites++
				}
			}
			for _, r := range l.Readings {
				dot := dots[r.Reading.String()]
				if r.Color == nil || r.Color.Mired == nil {
					continue
				}
				shows++
				if dot["data-mired"] != number(*r.Color.Mired) || dot["data-duv"] != number(*r.Color.Duv) {
					t.Errorf("a reading of %v mired, Duv %v is drawn as %v", *r.Color.Mired, *r.Color.Duv, dot)
				}
			}
			if whites != shows {
				t.Errorf("light %s: %d of %d readings are drawn", l.Key, shows, whites)
			}
		}
		for _, mark := range drift.Takes {
			if len(drift.Lights) > 0 && len(dots) > 0 {
				if _, ok := takes[mark.Take.String()]; !ok {
					t.Errorf("take %s is not marked", mark.Take)
				}
			}
		}
	})
}

// mustShowTrend: in the strips of mired and of Duv, the line, what is foreseen, and where
// it leaves the limits.
func mustShowTrend(t *rapid.T, l setup.LightDrift, count func(name, value string) int) {
	t.Helper()
	strips := 0
	for _, r := range l.Readings {
		if r.Color != nil && r.Color.Mired != nil {
			strips = 2
		}
	}
	lines, ahead := 0, 0
	if l.Trend != nil {
		lines, ahead = strips, strips*(len(l.Trend.Line)-2)
		if at := l.Trend.LeavesAt; at != nil {
			if got := count("data-leaves", at.Format(time.RFC3339)); got < strips {
				t.Errorf("light %s leaves its limits at %v: marked %d times, want %d", l.Key, at, got, strips)
			}
		}
	}
	if a, b := count("data-trend", l.Key), count("data-forecast", l.Key); a != lines || b != ahead {
		t.Errorf("light %s: %d lines and %d forecasts are drawn, want %d and %d", l.Key, a, b, lines, ahead)
	}
}

func TestAnySwatchesAreDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := glance.SetUpSwatches{Name: names.Draw(t, "name"), Words: "some", Whites: []glance.SwatchWhite{{Key: "aim", Words: "aim"}}}
		for i := range rapid.IntRange(0, 9).Draw(t, "cameras") {
			s.Whites = append(s.Whites, glance.SwatchWhite{Key: fmt.Sprintf("%c", 'A'+i), Camera: recordID(100 + i), Words: names.Draw(t, "words")})
		}
		want := 0
		for i := range rapid.IntRange(0, 12).Draw(t, "lights") {
			l := glance.SwatchLight{Light: recordID(i + 1), Key: fmt.Sprint(i + 1), Name: names.Draw(t, "light"), Problem: "it was not measured"}
			if rapid.Bool().Draw(t, "measured") {
				for _, w := range s.Whites {
					c := glance.SwatchCell{Key: w.Key, Problem: names.Draw(t, "problem")}
					if rapid.Bool().Draw(t, "seen") {
						c.Swatch = &figure.Swatch{R: rapid.IntRange(0, 255).Draw(t, "r"), G: 1, B: 255, Clipped: rapid.Bool().Draw(t, "clipped")}
						want++
					}
					l.Pictures = append(l.Pictures, c)
				}
			}
			s.Lights = append(s.Lights, l)
		}
		svg := Swatches(s)
		if !bytes.Equal(svg, Swatches(s)) {
			t.Fatal("drawn twice it differs")
		}
		got := 0
		for _, e := range mustBePicture(t, svg) {
			if e.at["data-rgb"] != "" {
				got++
			}
		}
		if got != want {
			t.Errorf("%d swatches are drawn, the answer has %d", got, want)
		}
	})
}
