package glance_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// TestTheSignsOfNow: each word describes the picture.
func TestTheSignsOfNow(t *testing.T) {
	s := stage.New(t)
	warm := s.Light("bulb", "practical")
	s.Read(warm, `{"as":"cctDuv","cctKelvin":3200,"duv":0.004}`)
	s.Minute(30)
	s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5400,"duv":0}`)
	s.Shoot("5600", "4300")
	n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(40))
	if err != nil {
		t.Fatal(err)
	}
	lights := map[string]glance.LightNow{}
	for _, l := range n.Lights {
		lights[l.Name] = l
	}
	t.Run("a_light_of_lower_kelvin_is_warmer", func(t *testing.T) {
		// 1e6/3200 − 1e6/5600 = +134 mired.
		cast := lights["bulb"].Cast
		stage.Near(t, "mired", *cast.Mired, 134, 0)
		stage.Near(t, "Duv", *cast.Duv, 0.004, 0)
		if cast.Words != "134 mired warmer, Duv 0.0040 greener" {
			t.Errorf("words: got %q", cast.Words)
		}
	})
	t.Run("its_picture_is_orange", func(t *testing.T) {
		p := lights["bulb"].Picture
		if !(p.R > p.G && p.G > p.B) {
			t.Errorf("got %+v, want R > G > B", p)
		}
	})
	t.Run("a_light_that_fell_in_kelvin_drifted_warmer", func(t *testing.T) {
		// 1e6/5400 − 1e6/5600 = +7 mired.
		stage.Near(t, "drift", *lights["panel left"].DriftSinceFirst.Mired, 7, 0)
		stage.Near(t, "age", *lights["panel left"].AgeMinutes, 10, 0)
	})
	t.Run("a_camera_dialled_too_low_is_cooler", func(t *testing.T) {
		b := n.Cameras[1]
		stage.Near(t, "off aim", *b.Last.OffAim.Mired, -54, 0)
		stage.Near(t, "off A", *b.Last.OffCamera.Mired, -54, 0)
		stage.Near(t, "dial", *b.Dial.Kelvin, 5600, 0)
		stage.Near(t, "residual", *b.Dial.Residual.Mired, 0, 0)
	})
}

func TestNowSaysWhatItKnows(t *testing.T) {
	s := stage.New(t)
	s.Light("window", "ambient")
	n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(5))
	if err != nil {
		t.Fatal(err)
	}
	if n.White == nil || n.White.White != s.White || n.White.Since != "start" || n.White.Words != "panel left, measured" {
		t.Errorf("white: got %+v", n.White)
	}
	if l := n.Lights[1]; l.Problem == "" || l.Color != nil || l.Within != nil {
		t.Errorf("a light without a reading: got %+v", l)
	}
	if l := n.Lights[0]; l.Within == nil || !*l.Within {
		t.Errorf("the key: got %+v, want within", l.Within)
	}
	if len(n.Limits) != 3 { // camera, key, ambient
		t.Errorf("limits: got %+v", n.Limits)
	}
	text, err := json.Marshal(n)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"setUp":"` + s.SetUp.String(), `"cctKelvin":5600`, `"deviations":[]`, `"letter":"A"`, `"illuminanceLux":800`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the JSON lacks %s:\n%s", want, text)
		}
	}
}

func TestTheCoolNightIsDialledBelowTheReference(t *testing.T) {
	s := stage.New(t)
	s.Minute(3)
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`,
		"appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`, "intendedCast", `{"mired":-80}`)
	n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(5))
	if err != nil {
		t.Fatal(err)
	}
	// 3867 K is wanted; A has steps of 50 K, B has 3200 and 4300.
	stage.Near(t, "A", *n.Cameras[0].Dial.Kelvin, 3850, 0)
	stage.Near(t, "B", *n.Cameras[1].Dial.Kelvin, 4300, 0)
	if p := n.Lights[0].Picture; !(p.B > p.R) {
		t.Errorf("the key's picture: got %+v, want blue above red", p)
	}
	stage.Near(t, "the key's cast against the reference", *n.Lights[0].Cast.Mired, 0, 0)
}

func TestNowOfNothing(t *testing.T) {
	s := stage.New(t)
	if _, err := glance.Now(s.Book(), s.Key, stage.Minute(5)); !errors.Is(err, logbook.ErrNoRecord) {
		t.Errorf("got %v, want ErrNoRecord", err)
	}
	empty := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"C"`)
	n, err := glance.Now(s.Book(), empty, stage.Minute(5))
	if err != nil || n.White != nil || n.Reference != nil || len(n.Lights) != 0 || len(n.Deviations) != 0 {
		t.Errorf("got %+v, %v, want nothing known", n, err)
	}
}

func TestCautionsFitTheLamps(t *testing.T) {
	for _, c := range []struct{ family, hot, want, not string }{
		{"incandescent", "", "cool before you touch", "high voltage"},
		{"discharge", "", "high voltage", "mercury"},
		{"fluorescent", "", "mercury", "high voltage"},
		{"whiteLed", "", "come before this advice", "cool before you touch"},
		{"whiteLed", "true", "cool before you touch", "mercury"},
	} {
		s := stage.New(t)
		fields := []string{"family", stage.Quoted(c.family)}
		if c.hot != "" {
			fields = append(fields, "hot", c.hot)
		}
		s.Set(s.Lamp, fields...)
		n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(5))
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Join(n.Cautions, "\n")
		if !strings.Contains(text, c.want) || strings.Contains(text, c.not) {
			t.Errorf("%s hot %q: got %q, want %q and not %q", c.family, c.hot, text, c.want, c.not)
		}
	}
}

// Of a body whose tint 0 nobody knows now, plane and row give a range, and no verdict that
// hangs on it.
func TestNowAndPlaneDoNotJudgeWhatIsNotKnown(t *testing.T) {
	for _, c := range []struct {
		zero, duv, verdict, words string
	}{
		{`"blackBody"`, "0", "inside", "no difference"},
		{"null", "0.0015", "inside", "Duv 0.0018 more magenta to 0.0015 greener"},
		{"null", "0.0043", "can't tell", "Duv 0.0010 to 0.0043 greener"},
		{"null", "0.0058", "off", "Duv 0.0025 to 0.0058 greener"},
	} {
		s := stage.New(t)
		s.Set(s.BodyA, "tintZero", c.zero)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"duv":`+c.duv+`,"locus":"blackBody"}`,
			"appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White))
		s.Minute(5)
		s.Clip(s.A, s.Take(), "5600")
		n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
		if err != nil {
			t.Fatal(err)
		}
		if l := n.Cameras[0].Last; l.Verdict != c.verdict || l.OffAim.Words != c.words {
			t.Errorf("tint 0 %s, aim Duv %s: now says %s, %q, want %s, %q", c.zero, c.duv, l.Verdict, l.OffAim.Words, c.verdict, c.words)
		}
		p, err := glance.Plane(s.Book(), s.SetUp, s.Clock)
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range p.Points {
			within := map[string]string{"inside": "true", "off": "false", "can't tell": "null"}[c.verdict]
			if got, _ := json.Marshal(at.Within); at.Record == s.A && (string(got) != within || !strings.Contains(at.Words, c.words)) {
				t.Errorf("tint 0 %s, aim Duv %s: the plane says within %s, %q", c.zero, c.duv, got, at.Words)
			}
		}
	}
}

// A camera that was set after its last clip stands as it was set, before any take too; one that
// was set for another set-up does not.
func TestACameraStandsAsItWasSet(t *testing.T) {
	s := stage.New(t)
	set := func(setUp logbook.ID, at int) string {
		body, _ := s.Book().RecordOf(kinds.Camera, s.B)
		return `{"body":` + string(body.Value("body").Member("body")) + `,"setUp":` + stage.Ref(setUp) + `,"at":` + stage.Stamp(at) +
			`,"whiteMode":"kelvin","kelvin":5600}`
	}
	verdict := func() string {
		t.Helper()
		n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
		if err != nil || n.Cameras[1].Camera != s.B {
			t.Fatalf("%v: %+v", err, n.Cameras)
		}
		last := n.Cameras[1].Last
		if last == nil {
			return "missing"
		}
		return last.Verdict + " at " + last.Setting.Words + ", " + last.SettingsAre
	}
	s.Minute(20)
	s.Set(s.B, "set", set(s.SetUp, 20))
	if got := verdict(); got != "inside at 5600 K, readOff" {
		t.Errorf("set before any take: %s", got)
	}
	s.Minute(30)
	s.Shoot("5600", "4300")
	if got := verdict(); !strings.HasPrefix(got, "off at 4300 K") {
		t.Errorf("a take since: %s", got)
	}
	s.Minute(40)
	s.Set(s.B, "set", set(s.Key, 40))
	if got := verdict(); !strings.HasPrefix(got, "off at 4300 K") {
		t.Errorf("set for another set-up: %s", got)
	}
	s.Set(s.B, "set", set(s.SetUp, 41))
	if got := verdict(); got != "inside at 5600 K, readOff" {
		t.Errorf("set again: %s", got)
	}
}
