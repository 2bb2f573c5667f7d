package advice_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// What a unit of a lamp's green–magenta dial does was typed by somebody: a plan that
// turns it wants a meter.
func TestPlanTurnsAGreenMagentaDial(t *testing.T) {
	for plus, want := range map[string]float64{"green": 12, "magenta": -12} {
		s := stage.New(t)
		lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"fullColorLed"`, "greenMagentaDial", fmt.Sprintf(`{"min":-20,"max":20,"step":1,"duvPerUnit":0.0005,"plusIs":%q}`, plus))
		light := s.Light("tile", "fill", "lamp", stage.Ref(lamp), "rigged/dialGreenMagenta", "0", "rigged/on", "true")
		s.Read(light, `{"as":"cctDuv","cctKelvin":5600,"duv":-0.006}`)
		_, lights := stage.PlanOf(t, s)
		l := lights["tile"]
		if l.DialGreenMagenta == nil || *l.DialGreenMagenta != want || !*l.Reaches || !l.CheckWithMeter ||
			!strings.Contains(strings.Join(l.Caveats, "; "), "typed, not measured") {
			t.Errorf("plus is %s: got %+v, want %v units, to be checked", plus, l, want)
		}
		if !strings.Contains(l.Words, fmt.Sprintf("green–magenta %+g", want)) || !strings.Contains(l.Words, "check with the meter") {
			t.Errorf("plus is %s: got %q", plus, l.Words)
		}
	}
}

// A light that was inside its limits when it was read long ago may be anywhere.
func TestPlanDoesNotLetALightStayByAnOldReading(t *testing.T) {
	s := stage.New(t)
	_, lights := stage.PlanOf(t, s)
	if l := lights["panel left"]; !l.Stays || len(l.Caveats) != 0 {
		t.Errorf("a fresh reading: got %+v, want it to stay", l)
	}
	s.Minute(95)
	_, lights = stage.PlanOf(t, s)
	if l := lights["panel left"]; l.Stays || !strings.Contains(strings.Join(l.Caveats, "; "), "re-measure after 90 min") {
		t.Errorf("a reading of 95 minutes: got stays %v, %q, want it planned with a warning", l.Stays, l.Caveats)
	}
}

// The planned mix counts with the green that a gel adds, and with the light that it
// takes.
func TestPlannedMixCountsGreenAndLoss(t *testing.T) {
	s := stage.New(t)
	light := s.Light("window", "fill", "rigged/on", "true")
	s.Read(light, `{"as":"cctDuv","cctKelvin":5600,"duv":-0.011}`, "illuminance", `{"value":800,"unit":"lux"}`)
	s.Add(kinds.Gel, "name", `"half plus green"`, "gelKind", `"green"`, "cc", `{"density":15,"color":"green"}`, "transmission", `{"as":"percent","value":50}`, "quantity", "1")
	plan, lights := stage.PlanOf(t, s)
	l := lights["window"]
	if len(l.Gels) != 1 || l.LossStops != 1 {
		t.Fatalf("got %+v, want the gel, and half the light gone", l)
	}
	moved, err := colorimetry.CCTDuv{CCT: 5600, Duv: colorimetry.Duv(*l.Expected.Duv)}.XY()
	if err != nil {
		t.Fatal(err)
	}
	key, err := colorimetry.CCTDuv{CCT: 5600}.XY()
	if err != nil {
		t.Fatal(err)
	}
	mixed, err := colorimetry.Mix([]colorimetry.Lit{{Light: key, Lux: 800}, {Light: moved, Lux: 400}})
	if err != nil {
		t.Fatal(err)
	}
	want, err := mixed.Light.CCTDuv()
	if err != nil {
		t.Fatal(err)
	}
	p := plan.Positions[0]
	stage.Near(t, "lux", *p.Lux, 1200, 0)
	stage.Near(t, "Duv of the planned mix", *p.Planned.Duv, float64(want.Duv), 0.0001)
	if now := *p.Now.Duv; !(now < -0.005) {
		t.Errorf("Duv now: got %v, want half of -0.011", now)
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

func TestNominalGelsAreThoseOfTheProductionsFamily(t *testing.T) {
	for family, want := range map[string]float64{"based5500": -131, "based6500": -159} {
		s := stage.New(t)
		s.Set(s.ProductionID(), "gelFamily", stage.Quoted(family))
		s.Set(s.SetUp, "limits/key/mired", "40", "limits/key/steps", "40", "limits/key/duvGreen", "0.05", "limits/key/duvMagenta", "0.05")
		s.Fresnel("fresnel", "key")
		s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1", "faded", "true")
		_, lights := stage.PlanOf(t, s)
		l := lights["fresnel"]
		if len(l.GelUses) != 1 || l.GelUses[0].ShiftMired != want || l.GelUses[0].From != "nominal" {
			t.Errorf("%s: got %+v, want %v mired", family, l.GelUses, want)
		}
		if !strings.Contains(strings.Join(l.Caveats, "; "), "full CTB is faded") {
			t.Errorf("%s: got %q, want it said that the gel is faded", family, l.Caveats)
		}
	}
}

// Where what full means is typed gel by gel, a name alone says nothing about a warm or
// cool gel; a green one has no family.
func TestANameSaysNothingWhereTheFamilyIsTyped(t *testing.T) {
	s := stage.New(t)
	s.Set(s.ProductionID(), "gelFamily", `"typed"`)
	s.Fresnel("fresnel", "key")
	s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
	s.Add(kinds.Gel, "name", `"full plus green"`, "gelKind", `"green"`, "quantity", "1")
	plan, lights := stage.PlanOf(t, s)
	if len(lights["fresnel"].Gels) != 0 || len(plan.Gels) != 1 || plan.Gels[0].Name != "full plus green" {
		t.Errorf("got %+v of %+v, want no use of a gel whose shift nobody typed", lights["fresnel"].GelUses, plan.Gels)
	}
}

// Who has no hand free logs the lamp after it was read.
func TestALightThatWasLoggedAfterItsReadingStoodAsItWasLoggedFirst(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`)
	light := s.Light("tile", "fill", "lamp", stage.Ref(lamp), "rigged/dialKelvin", "4000", "rigged/on", "true")
	s.Add(kinds.Reading, "setUp", stage.Ref(s.SetUp), "measured", `{"as":"cctDuv","cctKelvin":3800,"duv":0}`, "takenAt", stage.Stamp(3), "of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(light)))
	_, lights := stage.PlanOf(t, s)
	if l := lights["tile"]; l.DialKelvin == nil || *l.DialKelvin != 6050 {
		t.Fatalf("got %+v, want the dial turned from 4000 K", l)
	}
	s.Minute(6)
	s.Set(light, "rigged/dialKelvin", "5000")
	n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
	if err != nil || len(n.Lights) != 2 || !strings.Contains(strings.Join(n.Lights[1].StaleBecause, "; "), "changed from 4000 to 5000") {
		t.Errorf("got %+v (%v), want the reading stale by the dial", n.Lights, err)
	}
}

// A magenta gel of the inventory takes green away, a green one adds it.
func TestPlanTakesTheGelOfTheColourThatIsMissing(t *testing.T) {
	for duv, want := range map[string]string{"0.011": "minus", "-0.011": "plus"} {
		s := stage.New(t)
		s.Read(s.Light("window", "fill", "rigged/on", "true"), fmt.Sprintf(`{"as":"cctDuv","cctKelvin":5600,"duv":%s}`, duv))
		for name, color := range map[string]string{"plus": "green", "minus": "magenta"} {
			s.Add(kinds.Gel, "name", stage.Quoted(name), "gelKind", stage.Quoted(color), "cc", fmt.Sprintf(`{"density":15,"color":%q}`, color), "quantity", "2")
		}
		_, lights := stage.PlanOf(t, s)
		if l := lights["window"]; len(l.GelUses) != 1 || l.GelUses[0].Name != want || l.GelUses[0].From != "inventory" {
			t.Errorf("Duv %s: got %+v, want one gel %q", duv, l.GelUses, want)
		}
	}
}

// A gel that burns may go on a lamp that stays cold, and on no hot one.
func TestAGelThatBurnsGoesOnColdLampsOnly(t *testing.T) {
	for _, c := range []struct {
		family, hot string
		used        bool
	}{
		{"whiteLed", "", true}, {"fluorescent", "", true}, {"incandescent", "", false}, {"discharge", "", false},
		{"whiteLed", "true", false}, {"incandescent", "false", true},
	} {
		s := stage.New(t)
		fields := []string{"name", `"lamp"`, "family", stage.Quoted(c.family)}
		if c.hot != "" {
			fields = append(fields, "hot", c.hot)
		}
		s.Read(s.Light("lamp", "key", "lamp", stage.Ref(s.Add(kinds.Lamp, fields...)), "rigged/on", "true"), stage.OnLocus3200)
		s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1", "heatResistant", `"no"`)
		_, lights := stage.PlanOf(t, s)
		if got := len(lights["lamp"].Gels) == 1; got != c.used {
			t.Errorf("%s, hot %q: the gel is used: %v, want %v", c.family, c.hot, got, c.used)
		}
	}
}

// A gel whose shift was measured is counted as often as it is there, and one that
// stays on another light is not there.
func TestAMeasuredGelThatStaysElsewhereIsNotUsedTwice(t *testing.T) {
	s := stage.New(t)
	light := s.Fresnel("fresnel", "key")
	without := s.Read(light, stage.OnLocus3200, "purpose", `"gelTest"`)
	gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
	with := s.Read(light, stage.CctDuv(1e6/(312.5-131), 0), "purpose", `"gelTest"`, "throughGel", stage.Ref(gel))
	s.Set(gel, "measuredShifts/a", fmt.Sprintf(`{"lampFamily":"incandescent","without":%s,"with":%s}`, stage.Ref(without), stage.Ref(with)))
	if _, lights := stage.PlanOf(t, s); len(lights["fresnel"].Gels) != 1 {
		t.Fatalf("got %+v, want the gel", lights["fresnel"])
	}
	s.Light("lantern", "practical", "intent", `"leave"`, "rigged/gels", "["+stage.Ref(gel)+"]", "rigged/on", "true")
	plan, lights := stage.PlanOf(t, s)
	if len(lights["fresnel"].Gels) != 0 || plan.Gels[0].Used != 1 {
		t.Errorf("got %+v, used %d, want it to stay on the lantern", lights["fresnel"].Gels, plan.Gels[0].Used)
	}
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

// What a light itself was read as on two positions comes before what the lamp was
// elsewhere: another copy of it may be another lamp.
func TestPlanLearnsADialFromTheLightItself(t *testing.T) {
	s := stage.New(t)
	lamp, light := s.Tile("3200")
	s.Read(light, stage.CctDuv(1e6/(1e6/3200+10), 0))
	other := s.Light("second tile", "back", "lamp", stage.Ref(lamp), "rigged/dialKelvin", "5600", "rigged/on", "true")
	s.Read(other, stage.CctDuv(1e6/(1e6/5600-30), 0))
	s.Minute(5)
	s.Set(light, "rigged/dialKelvin", "4300")
	s.Minute(6)
	s.Read(light, stage.CctDuv(1e6/(1e6/4300+10), 0))
	_, lights := stage.PlanOf(t, s)
	if got := lights["tile"].DialLearnt; !strings.Contains(got, "learnt from 2 readings") || !strings.Contains(got, "moves 1.00 mired") {
		t.Errorf("got %q, want the two readings of the light itself", got)
	}
	if got := lights["second tile"].DialLearnt; got != "" && !strings.Contains(got, "learnt from 3 readings") {
		t.Errorf("the other one, read on one position: got %q, want all of the lamp's", got)
	}
}

func TestAPlanThatLeavesOutADialSaysSo(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`)
	light := s.Light("tile", "fill", "lamp", stage.Ref(lamp), "rigged/on", "true")
	s.Read(light, `{"as":"cctDuv","cctKelvin":3800,"duv":0}`)
	_, lights := stage.PlanOf(t, s)
	if l := lights["tile"]; l.DialKelvin != nil || !strings.HasSuffix(l.Words, "is not in the log: the dial was left out") {
		t.Errorf("got %+v, want no dial, and why", l)
	}
	s.Minute(5)
	s.Set(light, "rigged/dialKelvin", "4000") // turned or logged only now: the reading says nothing of it
	_, lights = stage.PlanOf(t, s)
	if l := lights["tile"]; l.DialKelvin != nil || !strings.Contains(l.Words, "the dial was left out") {
		t.Errorf("got %+v, want the dial left out still", l)
	}
}
