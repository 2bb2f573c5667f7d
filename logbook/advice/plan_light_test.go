package advice_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// A light that was inside its limits when it was read long ago may be anywhere.
func TestPlanDoesNotLetALightStayByAnOldReading(t *testing.T) {
	s := stage.New(t)
	_, lights := stage.PlanOf(t, s)
	if l := lights["panel left"]; !l.Stays || len(l.Caveats) != 0 {
		t.Errorf("a fresh reading: got %+v, want it to stay", l)
	}
	s.Minute(95)
	plan, lights := stage.PlanOf(t, s)
	if want := "1 is fine by an old reading: meter it again"; plan.Words != want {
		t.Errorf("got %q, want %q", plan.Words, want)
	}
	if l := lights["panel left"]; l.Stays || !strings.Contains(strings.Join(l.Caveats, "; "), "re-measure after 90 min") {
		t.Errorf("a reading of 95 minutes: got stays %v, %q, want it planned with a warning", l.Stays, l.Caveats)
	}
}

// Each light carries the one caution that fits its lamp.
func TestEachLightCarriesTheCautionOfItsLamp(t *testing.T) {
	s := stage.New(t)
	for i, c := range []struct{ family, hot, want string }{
		{"incandescent", "", "Hot lamps"},
		{"incandescent", "false", "Hot lamps"},
		{"discharge", "", "Discharge lamps"},
		{"discharge", "true", "Discharge lamps"},
		{"fluorescent", "", "Fluorescent tubes"},
		{"whiteLed", "", ""},
		{"whiteLed", "true", "Hot lamps"},
	} {
		name := fmt.Sprintf("%d %s %s", i, c.family, c.hot)
		fields := []string{"name", stage.Quoted(name), "family", stage.Quoted(c.family)}
		if c.hot != "" {
			fields = append(fields, "hot", c.hot)
		}
		s.Light(name, "fill", "lamp", stage.Ref(s.Add(kinds.Lamp, fields...)))
		_, lights := stage.PlanOf(t, s)
		if got := lights[name].Caution; !strings.HasPrefix(got, c.want) || (got == "") != (c.want == "") {
			t.Errorf("%s: got %q, want %q", name, got, c.want)
		}
	}
}

// A colour that is held is judged as a light, and has no white to be seen in: 13
// mired beside 2700 K are 4.3 steps there, and 5.9 in a picture.
func TestALightThatHoldsItsColourIsPlannedAsALight(t *testing.T) {
	s := stage.New(t)
	s.Set(s.SetUp, "limits/background/mired", "30", "limits/background/steps", "5")
	lamp := s.Add(kinds.Lamp, "name", `"tube"`, "family", `"fullColorLed"`, "kelvinDial", `{"as":"list","values":[2800,3200]}`)
	light := s.Light("tube", "background", "lamp", stage.Ref(lamp),
		"intent", `"holdOwnColor"`, "targetColor", `{"as":"cctDuv","cctKelvin":2700,"duv":0}`, "rigged/dialKelvin", "3200", "rigged/on", "true")
	s.Read(light, stage.OnLocus3200)
	s.Add(kinds.Gel, "name", `"a little warm"`, "gelKind", `"warm"`, "shiftMired", "13", "transmission", `{"as":"stops","value":0.5}`, "quantity", "1")
	_, lights := stage.PlanOf(t, s)
	l := lights["tube"]
	if len(l.Gels) != 0 || l.DialKelvin == nil || *l.DialKelvin != 2800 || !*l.Reaches {
		t.Errorf("got %+v, want the dial alone: it is inside the limits", l)
	}
	stage.Near(t, "steps", *l.Residual.Steps, 4.3, 0.3)
}

// What a plan had to assume is said.
func TestPlanSaysWhatTheLogDoesNot(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`)
	s.Read(s.Light("tile", "fill", "lamp", stage.Ref(lamp), "rigged/on", "true"), stage.OnLocus3200)
	s.Add(kinds.Gel, "name", `"a cool one"`, "gelKind", `"cool"`, "shiftMired", "-131")
	_, lights := stage.PlanOf(t, s)
	got := strings.Join(lights["tile"].Caveats, "; ")
	for _, want := range []string{
		"kelvin dial stood at when it was read is not in the log",
		"how many of a cool one there are is not in the log",
		"what light a cool one costs is not in the log",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("got %q, want it to say %q", got, want)
		}
	}
}

func TestPlanOfALightThatHoldsItsOwnColor(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"tube"`, "family", `"fullColorLed"`, "kelvinDial", `{"as":"list","values":[2700,3200,4000,5600]}`)
	light := s.Light("tube", "background", "lamp", stage.Ref(lamp),
		"intent", `"holdOwnColor"`, "targetColor", `{"as":"cctDuv","cctKelvin":2700,"duv":0}`, "rigged/dialKelvin", "3200", "rigged/on", "true")
	s.Read(light, stage.OnLocus3200)
	_, lights := stage.PlanOf(t, s)
	stage.Near(t, "dial", *lights["tube"].DialKelvin, 2700, 0)
	stage.Near(t, "residual", *lights["tube"].Residual.Mired, 0, 0)
}

func TestPlanSaysWhyALightHasNone(t *testing.T) {
	s := stage.New(t)
	s.Light("bulb", "key")
	off := s.Fresnel("off", "key")
	s.Set(off, "rigged/on", "false")
	s.Light("lantern", "practical", "intent", `"leave"`)
	colored := s.Light("neon", "fill", "rigged/on", "true")
	s.Read(colored, `{"as":"xy","x":0.2,"y":0.7}`)
	plan, lights := stage.PlanOf(t, s)
	for name, want := range map[string]string{"bulb": "not measured", "off": "not lit", "neon": "coloured light"} {
		if got := lights[name]; !strings.Contains(got.Problem, want) || got.Reaches != nil {
			t.Errorf("%s: got %+v, want %q", name, got, want)
		}
	}
	if plan.Reached != 1 || !strings.Contains(plan.Positions[0].Problem, "no reading with lux") {
		t.Errorf("got %d reached, %+v", plan.Reached, plan.Positions)
	}
	if _, err := advice.Plan(s.Book(), s.Key, s.Clock); !errors.Is(err, logbook.ErrNoRecord) {
		t.Errorf("a plan of no set-up: got %v, want ErrNoRecord", err)
	}
}

// A light may have been changed since it was read: what to change is said from how it stands.
func TestPlanSaysWhatToChangeFromHowALightStandsNow(t *testing.T) {
	s := stage.New(t)
	warm := s.Add(kinds.Gel, "name", `"half warm"`, "gelKind", `"warm"`, "shiftMired", "81", "quantity", "1")
	lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`)
	light := s.Light("tile", "fill", "lamp", stage.Ref(lamp), "rigged/dialKelvin", "5600", "rigged/gels", "[]", "rigged/on", "true")
	s.Read(light, stage.CctDuv(5600, 0))
	s.Minute(10)
	s.Set(light, "rigged/dialKelvin", "3200", "rigged/gels", "["+stage.Ref(warm)+"]")
	s.Minute(11)
	_, lights := stage.PlanOf(t, s)
	if l := lights["tile"]; !strings.HasPrefix(l.Words, "dial 5600 K, take off half warm: expect no difference") {
		t.Errorf("got %q", l.Words)
	}
}
