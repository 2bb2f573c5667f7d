package glance_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func pointOf(t *testing.T, l glance.SetUpPlane, key string) glance.PlanePoint {
	t.Helper()
	for _, at := range l.Points {
		if at.Key == key {
			return at
		}
	}
	t.Fatalf("no point %q in %+v", key, l.Points)
	return glance.PlanePoint{}
}

func planeOfStage(s *stage.Stage) glance.SetUpPlane {
	s.T.Helper()
	l, err := glance.Plane(s.Book(), s.SetUp, stage.Minute(60))
	if err != nil {
		s.T.Fatal(err)
	}
	return l
}

func TestAPlaneSaysWhatNowSays(t *testing.T) {
	s := stage.New(t)
	bulb := s.Light("bulb", "practical")
	s.Read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0.004}`, "illuminance", `{"value":100,"unit":"lux"}`)
	fill := s.Light("panel right", "fill")
	s.Read(fill, `{"as":"cctDuv","cctKelvin":5100,"duv":0}`, "illuminance", `{"value":200,"unit":"lux"}`)
	s.Light("window", "fill")
	s.Shoot("5600", "4300")
	l := planeOfStage(s)
	now, err := glance.Now(s.Book(), s.SetUp, stage.Minute(60))
	if err != nil {
		t.Fatal(err)
	}
	for i, light := range now.Lights[:3] {
		at := pointOf(t, l, fmt.Sprint(i+1))
		same := at.Record == light.Light && at.Name == light.Name && *at.Off.Mired == *light.Cast.Mired && *at.Off.Steps == *light.Cast.Steps
		if !same {
			t.Errorf("light %s: got %+v, now says %+v", light.Name, at, light)
		}
		if (at.Within == nil) != (light.Within == nil) || at.Within != nil && *at.Within != *light.Within {
			t.Errorf("light %s: within is %v, now says %v", light.Name, at.Within, light.Within)
		}
	}
	if at := pointOf(t, l, "3"); !strings.Contains(at.Words, "OUTSIDE its limits") || !strings.Contains(at.Words, "18 mired warmer") {
		t.Errorf("the fill's words are %q", at.Words)
	}
	if at := pointOf(t, l, "B"); *at.Off.Mired != *now.Cameras[1].Last.OffAim.Mired || *at.Within {
		t.Errorf("B is %+v, now says %+v", at, now.Cameras[1].Last)
	}
	if len(l.Unplaced) != 2 || l.Unplaced[0].Name != "window" || l.Unplaced[1].Name != "mix" {
		t.Errorf("unplaced: got %+v, want the window and the mix", l.Unplaced)
	}
	if want := "panel right 18 mired too warm; B 54 mired too cool; white 5600 K, Duv +0.0000; 3 lights and 2 cameras"; l.Words != want {
		t.Errorf("got %q, want %q", l.Words, want)
	}
}

func TestThePlanesMixIsTheSumOfTheLights(t *testing.T) {
	s := stage.New(t)
	bulb := s.Light("bulb", "fill")
	s.Read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`, "illuminance", `{"value":800,"unit":"lux"}`)
	// 3200 K + 5600 K at equal lux: 4137.6 K, Duv −0.0026, of this program's own sum
	// of Planckian spectra (colorimetry/mixing_test.go).
	at := pointOf(t, planeOfStage(s), "mix")
	stage.Near(t, "mix", *at.Color.CCTKelvin, 4137.6, 10)
	stage.Near(t, "mix Duv", *at.Color.Duv, -0.0026, 0.0001)
}

func TestRingsHoldTheColoursThatAreTheLimitAway(t *testing.T) {
	s := stage.New(t)
	s.Light("bulb", "background", "intent", `"match"`)
	for _, cast := range []string{`{"mired":0}`, `{"mired":-80,"duv":0.003}`} {
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp),
			"from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(s.Reading)),
			"appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White), "intendedCast", cast)
		l := planeOfStage(s)
		reference := *referenceOf(s)
		seen := map[string]float64{}
		for _, r := range l.Rings {
			seen[strings.Join(r.Roles, " ")] = r.Steps
			if len(r.UV) != glance.RingCorners {
				t.Fatalf("ring of %s: %d corners", r.Roles, len(r.UV))
			}
			for _, spot := range r.UV {
				xy, err := colorimetry.UVPrime{U: spot.UPrime, V: spot.VPrime}.XY()
				if err != nil {
					t.Fatal(err)
				}
				steps := *figure.CastDifference(xy, reference).Steps
				if r.Roles[0] == "camera" {
					aim := reference
					if r.About == "aim" {
						aim = *aimOfA(s)
					}
					if steps, err = glance.WhitesApart(xy, aim, reference); err != nil {
						t.Fatal(err)
					}
				}
				stage.Near(t, "steps on the ring of "+r.Roles[0], steps, r.Steps, 0.051)
			}
		}
		if want := map[string]float64{"key": 5, "background": 7, "camera": 4}; fmt.Sprint(seen) != fmt.Sprint(want) {
			t.Errorf("rings: got %v, want %v", seen, want)
		}
	}
}

func referenceOf(s *stage.Stage) *colorimetry.XY {
	view, _ := s.Book().Record(s.SetUp)
	return &setup.Read(s.Book(), view, stage.Minute(60)).Current().Reference.XY
}

func aimOfA(s *stage.Stage) *colorimetry.XY {
	view, _ := s.Book().Record(s.SetUp)
	at := setup.Read(s.Book(), view, stage.Minute(60))
	return &at.Aim(at.Current(), s.A).Aim.XY
}

func TestAPlaneOfLittle(t *testing.T) {
	s := stage.New(t)
	if _, err := glance.Plane(s.Book(), s.Key, stage.Minute(5)); !errors.Is(err, logbook.ErrNoRecord) {
		t.Errorf("got %v, want ErrNoRecord", err)
	}
	empty := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"C"`)
	l, err := glance.Plane(s.Book(), empty, stage.Minute(5))
	if err != nil || len(l.Points) != 0 || len(l.Unplaced) != 1 || l.Unplaced[0].Name != "white" || l.Unplaced[0].Problem == "" {
		t.Errorf("got %+v, %v, want no point and why", l, err)
	}
	neon := s.Light("sign", "practical", "intent", `"holdOwnColor"`, "targetColor", `{"as":"xy","x":0.2,"y":0.1}`)
	s.Read(neon, `{"as":"xy","x":0.21,"y":0.12}`)
	at := pointOf(t, planeOfStage(s), "2")
	if at.Color.CCTKelvin != nil || at.Color.Words != "coloured, no CCT" || *at.Within {
		t.Errorf("a coloured light: got %+v", at)
	}
}

func TestAPlannedSettingIsSaidToBePlanned(t *testing.T) {
	s := stage.New(t)
	c := s.Add(kinds.Camera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(s.BodyA)))
	s.Set(s.SetUp, "cameras/"+c.String()+"/inUse", "true", "cameras/"+c.String()+"/plannedKelvin", "4300")
	if got, want := pointOf(t, planeOfStage(s), "C").Words, "planned 4300 K, by its label 4300 K"; !strings.HasPrefix(got, want) {
		t.Errorf("got %q, want it to begin with %q", got, want)
	}
}

// A point that rests on an old reading says so; where no reading speaks of the light as it now
// stands, there is no point, and it is said why.
func TestAPointOfAStaleReadingSaysSo(t *testing.T) {
	s := stage.New(t)
	words := func() string {
		t.Helper()
		for _, at := range planeOfStage(s).Points {
			if at.Mark == "light" {
				return at.Words
			}
		}
		t.Fatal("no light is on the plane")
		return ""
	}
	if got := words(); strings.Contains(got, "old") || planeOfStage(s).Old != "" {
		t.Errorf("a fresh reading: got %q, %q", got, planeOfStage(s).Old)
	}
	s.Minute(4)
	s.Set(s.Key, "rigged/levelPercent", "50")
	s.Minute(5)
	all := planeOfStage(s).Unplaced
	if len(all) == 0 || all[0].Problem != "last read before its level was changed from 100 to 50" {
		t.Errorf("after it was dimmed: got %+v", all)
	}
}

// What is old is said once for all lights, what is off in words, the fullest that are short.
func TestThePlaneSaysFirstWhatIsOff(t *testing.T) {
	s := stage.New(t)
	old := func(at int) string {
		l, err := glance.Plane(s.Book(), s.SetUp, stage.Minute(at))
		if err != nil {
			t.Fatal(err)
		}
		return l.Old
	}
	if got, want := old(95), "old readings: panel left (95 min): meter again"; got != want {
		t.Errorf("one light: got %q, want %q", got, want)
	}
	s.Read(s.Light("tube", "fill"), stage.CctDuv(4000, 0.001))
	s.Read(s.Light("panel behind the curtain", "fill"), stage.CctDuv(4500, 0.001))
	if got, want := old(150), "all readings are 2 h old: meter again"; got != want {
		t.Errorf("all lights: got %q, want %q", got, want)
	}
	l := planeOfStage(s)
	if got, want := l.Headline, "tube, panel behind the curtain too warm"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := pointOf(t, l, "2").Too, "71 mired too warm"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := pointOf(t, l, "1"); got.Too != "" || strings.Contains(got.Words, " old") {
		t.Errorf("the light that is right: got %+v", got)
	}
	for i := range 4 {
		s.Read(s.Light(fmt.Sprint("a lamp far back ", i+1), "fill"), stage.CctDuv(4500, 0.001+0.01*float64(i%2)))
	}
	if got, want := planeOfStage(s).Headline, "6 lights outside the limits"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
