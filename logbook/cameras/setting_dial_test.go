package cameras_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/colorimetry"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// What bodies have on them: each row is another B, asked to match A at 4500 K and
// tint 0 in light of 4500 K.
func TestMatchOnWhateverABodyHas(t *testing.T) {
	for _, c := range []struct {
		name   string
		fields []string
		light  string // of the reading
		a      string // what A is set to, in kelvin
		want   string // of B
		mired  float64
	}{
		{"presets_only", []string{"whiteModes", `["preset"]`, "presets/bulb", `{"name":"bulb","kelvin":3200}`, "presets/sun", `{"name":"sun","kelvin":5200}`}, "4500", "4500", "preset sun", 30},
		{"steps_of_100_K", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":10000,"step":100}]`}, "4500", "4450", "4500 K", 2},
		{"several_ranges", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":3600,"step":20},{"min":3800,"max":9000,"step":200}]`}, "4500", "4500", "4600 K", 5},
		{"the_gap_between_two_ranges", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":3600,"step":100},{"min":5000,"max":9000,"step":100}]`}, "4500", "4500", "5000 K", 22},
		{"ranges_that_end_at_2500", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":10000,"step":100}]`}, "2200", "2200", "2500 K", 55},
		{"ranges_that_end_at_10000", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":10000,"step":100}]`}, "11000", "11000", "10000 K", -9},
		{"an_amber_blue_axis_where_plus_is_amber", []string{"whiteModes", `["preset"]`, "presets/sun", `{"name":"sun","kelvin":5000}`, "amberBlue", `{"min":-7,"max":7,"step":1,"miredPerUnit":5,"plusIs":"amber"}`}, "4500", "4500", "preset sun, amber–blue -4", 2},
		{"an_amber_blue_axis_where_plus_is_blue", []string{"whiteModes", `["preset"]`, "presets/sun", `{"name":"sun","kelvin":5000}`, "amberBlue", `{"min":-7,"max":7,"step":1,"miredPerUnit":5,"plusIs":"blue"}`}, "4500", "4500", "preset sun, amber–blue +4", 2},
		{"custom_from_a_card_without_a_kelvin", []string{"whiteModes", `["customFromCard"]`}, "4500", "4600", "custom white from a card", -5},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(3)
			reading := s.Read(s.Key, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%s,"duv":0}`, c.light))
			s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(reading)), "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`)
			body := s.Add(kinds.Body, append([]string{"label", `"another"`, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`}, c.fields...)...)
			other := s.Add(kinds.Camera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(body)))
			s.Minute(5)
			s.Clip(s.A, s.Take(), c.a)
			a, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: other, To: s.A, Follow: true}, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			if a.Best.Words != c.want {
				t.Errorf("got %q, want %q", a.Best.Words, c.want)
			}
			stage.Near(t, "residual in mired", *a.Best.Residual.Mired, c.mired, 0.6)
			if a.Best.Residual.Steps == nil || a.Best.DeltaE00 == nil || (*a.Best.Residual.Steps > 1.5) != (*a.Best.DeltaE00 > 0.6) {
				t.Errorf("steps and ΔE00: got %+v, %v", a.Best.Residual, a.Best.DeltaE00)
			}
			if strings.HasPrefix(c.name, "custom") {
				if a.Second != nil || !strings.Contains(stage.CaveatsOf(a.Origin), "shoot a card") {
					t.Errorf("got second %+v, caveats %q", a.Second, stage.CaveatsOf(a.Origin))
				}
			} else if a.Second == nil && !strings.Contains(c.name, "sun") {
				t.Errorf("there is no second-best: %+v", a)
			}
		})
	}
}

// A dial of 100 K whose tint 0 is the black body: towards a green aim the lower kelvin is
// nearer in the picture, and it is said why.
func TestADialThatIsNotTheNearestSaysWhy(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "presets/shade", "null", "kelvinValues", "null", "kelvinRanges", `[{"min":2500,"max":9900,"step":100}]`)
	minute := 0
	why := func(duv string) (string, float64) {
		t.Helper()
		minute++
		s.Minute(minute)
		reading := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5600,"duv":`+duv+`}`)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(reading)),
			"appliesFrom", `{"as":"time","at":"`+s.Clock.Time().Format("2006-01-02T15:04:05Z")+`"}`)
		n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
		if err != nil || n.Cameras[1].Dial == nil || n.Cameras[1].Dial.Kelvin == nil {
			t.Fatalf("got %+v (%v)", n.Cameras, err)
		}
		return n.Cameras[1].Dial.Why, *n.Cameras[1].Dial.Kelvin
	}
	if words, kelvin := why("0"); words != "" || kelvin != 5600 {
		t.Errorf("on the locus: got %v K, %q, want 5600 K and no word", kelvin, words)
	}
	words, kelvin := why("0.006")
	if kelvin == 5600 || !strings.HasPrefix(words, "5600 K, which is nearer by its label, would leave ") {
		t.Fatalf("got %v K, %q, want another dial and why not 5600 K", kelvin, words)
	}
	raised := stage.DeviationOf(t, s.Deviations(s.SetUp, 10), deviation.AimNotReachable)
	if !strings.HasSuffix(raised.Words, "; "+words) {
		t.Errorf("raised is %q, want it with %q", raised.Words, words)
	}
	var other, chosen float64
	const form = "5600 K, which is nearer by its label, would leave %f steps and not %f"
	if _, err := fmt.Sscanf(words, form, &other, &chosen); err != nil || other < chosen+0.4 {
		t.Errorf("got %q (%v), want 5600 K worse by half a step or more", words, err)
	}
}

// It is said why, where the kelvin nearest by its label leaves half a step more than the
// one advised, and only there.
func TestWhyIsSaidWhereItMatters(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "presets/shade", "null", "kelvinValues", "null", "kelvinRanges", `[{"min":2500,"max":9900,"step":100}]`)
	book := s.Book()
	body, _ := book.Record(s.BodyB)
	check := func(t rapid.TB, aim colorimetry.CCTDuv, off colorimetry.Cast) (said bool) {
		light, err := aim.XY()
		if err != nil {
			t.Fatal(err)
		}
		best, _, _, err := cameras.NewMemo(book).WhatToDialWith(body, aim, light, off)
		if err != nil {
			t.Skip("no setting")
		}
		nearest, apart := 0.0, math.Inf(1)
		for k := 2500.0; k <= 9900; k += 100 {
			if d := math.Abs(1e6/k + float64(off.Mired) - 1e6/float64(aim.CCT)); d < apart {
				nearest, apart = k, d
			}
		}
		white, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / (1e6/nearest + float64(off.Mired)))}.XY()
		if err != nil {
			t.Skip("a white outside")
		}
		picture, err := colorimetry.Picture(light, white, colorimetry.CAT16)
		if err != nil {
			t.Fatal(err)
		}
		worse := colorimetry.StepsFromNeutral(picture) - *best.Residual.Steps
		if math.Abs(worse-0.5) < 0.06 {
			t.Skip("on the edge: steps are rounded")
		}
		words := cameras.WhyNotNearest(body, aim, light, off, best)
		if want := *best.Kelvin != nearest && worse > 0.5; (words != "") != want ||
			want && !strings.HasPrefix(words, fmt.Sprintf("%g K", nearest)) {
			t.Fatalf("%v K is advised, %v K is nearest by its label and leaves %.2f steps more: got %q", *best.Kelvin, nearest, worse, words)
		}
		return words != ""
	}
	if !check(t, colorimetry.CCTDuv{CCT: 5600, Duv: 0.006}, colorimetry.Cast{}) {
		t.Error("nothing was said")
	}
	rapid.Check(t, func(t *rapid.T) {
		aim := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(rapid.Float64Range(2700, 9000).Draw(t, "aim")),
			Duv: colorimetry.Duv(rapid.Float64Range(-0.006, 0.006).Draw(t, "Duv"))}
		check(t, aim, colorimetry.Cast{Mired: colorimetry.Mired(rapid.Float64Range(-30, 30).Draw(t, "error"))})
	})
}
