package advice_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestPlanShowsGelsLossAndThatAMeterMustConfirm(t *testing.T) {
	s := stage.New(t)
	s.Fresnel("fresnel", "key")
	gel := s.Add(kinds.Gel, "name", `"Full CTB"`, "gelKind", `"cool"`, "quantity", "1")
	plan, lights := stage.PlanOf(t, s)
	l := lights["fresnel"]
	if len(l.Gels) != 1 || l.Gels[0] != gel || !l.CheckWithMeter || l.Reaches == nil || !*l.Reaches {
		t.Fatalf("got %+v, want the gel, reached by calculation, to be checked", l)
	}
	// 1e6/3200 − 131 − 1e6/5600 = +2.9 mired; full CTB costs 2 stops [nominal gels: common practice, no source].
	stage.Near(t, "residual", *l.Residual.Mired, 3, 0)
	stage.Near(t, "loss", l.LossStops, 2, 0)
	if !strings.Contains(l.Words, "put on Full CTB") || !strings.Contains(l.Words, "check with the meter") ||
		!strings.Contains(l.Caution, "Hot lamps") {
		t.Errorf("got %q, caution %q", l.Words, l.Caution)
	}
	if k := lights["panel left"]; !k.Stays || k.CheckWithMeter {
		t.Errorf("the light that is right: got %+v, want it to stay", k)
	}
	if g := plan.Gels[0]; g.Used != 1 || g.Stock != 1 || plan.Reached != 2 || !plan.Proven {
		t.Errorf("got %+v, %d reached", g, plan.Reached)
	}
	// 400 lx at −2 stops is 100 lx, and 800 of the key.
	p := plan.Positions[0]
	stage.Near(t, "lux now", *p.NowLux, 1200, 0)
	stage.Near(t, "lux planned", *p.Lux, 900, 0.2)
	if !(*p.Cast.Mired >= 0 && *p.Cast.Mired <= 1) {
		t.Errorf("the planned mix: got %s", p.Cast.Words)
	}
}

func TestPlanGivesOneGelToOneLight(t *testing.T) {
	s := stage.New(t)
	s.Fresnel("one", "key")
	s.Fresnel("two", "key")
	s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
	plan, lights := stage.PlanOf(t, s)
	if n := len(lights["one"].Gels) + len(lights["two"].Gels); n != 1 || plan.Gels[0].Used != 1 || plan.Reached != 2 {
		t.Errorf("got %d gels on lights, %d counted, %d reached; want 1, 1, 2 (the key and one)", n, plan.Gels[0].Used, plan.Reached)
	}
	for _, name := range []string{"one", "two"} {
		if l := lights[name]; len(l.Gels) == 0 && !strings.Contains(l.Words, "nothing that is here") {
			t.Errorf("the light without: got %q", l.Words)
		}
	}
}

func TestPlanLeavesGelsToLightsThatAreLeft(t *testing.T) {
	s := stage.New(t)
	gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
	s.Light("lantern", "practical", "intent", `"leave"`, "rigged/gels", "["+stage.Ref(gel)+"]", "rigged/on", "true")
	s.Fresnel("fresnel", "key")
	plan, lights := stage.PlanOf(t, s)
	if len(lights["fresnel"].Gels) != 0 || plan.Gels[0].Used != 1 || len(lights["lantern"].Gels) != 1 {
		t.Errorf("got %+v, %+v, want the one gel to stay on the lantern", lights["fresnel"].Gels, plan.Gels)
	}
}

func TestPlanPrefersWhatAGelDidOnTheFamily(t *testing.T) {
	s := stage.New(t)
	light := s.Fresnel("fresnel", "key")
	without := s.Read(light, stage.OnLocus3200, "illuminance", `{"value":400,"unit":"lux"}`, "purpose", `"gelTest"`)
	gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
	// 312.5 − 120 = 192.5 mired.
	with := s.Read(light, `{"as":"cctDuv","cctKelvin":5194.8052,"duv":0}`, "illuminance", `{"value":100,"unit":"lux"}`, "purpose", `"gelTest"`, "throughGel", stage.Ref(gel))
	s.Set(gel, "measuredShifts/a", fmt.Sprintf(`{"lampFamily":"incandescent","without":%s,"with":%s}`, stage.Ref(without), stage.Ref(with)))
	_, lights := stage.PlanOf(t, s)
	l := lights["fresnel"]
	// 192.5 − 178.6 = +14.
	stage.Near(t, "residual", *l.Residual.Mired, 14, 0)
	if l.CheckWithMeter || *l.Reaches {
		t.Errorf("got %+v, want measured values and a light outside its limits", l)
	}
}

func TestPlanKeepsGelsThatBurnOffHotLamps(t *testing.T) {
	s := stage.New(t)
	s.Fresnel("fresnel", "key")
	s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "4", "heatResistant", `"no"`)
	if _, lights := stage.PlanOf(t, s); len(lights["fresnel"].Gels) != 0 {
		t.Errorf("got %+v, want no gel", lights["fresnel"])
	}
}

func TestPlanTakesOffAGelThatIsOn(t *testing.T) {
	s := stage.New(t)
	gel := s.Add(kinds.Gel, "name", `"half warm"`, "gelKind", `"warm"`, "shiftMired", "81", "quantity", "1", "transmission", `{"as":"stops","value":0.6}`)
	light := s.Light("window", "fill", "rigged/gels", fmt.Sprintf("[%s]", stage.Ref(gel)), "rigged/on", "true")
	// 178.6 + 81 mired: 5600 K behind the gel.
	s.Read(light, `{"as":"cctDuv","cctKelvin":3852.5,"duv":0}`, "illuminance", `{"value":100,"unit":"lux"}`)
	plan, lights := stage.PlanOf(t, s)
	l := lights["window"]
	stage.Near(t, "residual", *l.Residual.Mired, 0, 0)
	if len(l.Gels) != 0 || !strings.Contains(l.Words, "take off half warm") || !l.CheckWithMeter {
		t.Errorf("got %+v, want the gel off, to be checked", l)
	}
	// 100 lx · 2^0.6 = 151.6 lx, beside 800.
	stage.Near(t, "lux", *plan.Positions[0].Lux, 951.6, 0.1)
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

// A quarter blue and a quarter orange on one window would come nearest; a plus and a minus
// green too. A blue that was measured as a little green may still have a minus green with it.
func TestPlanPutsNoOpposingGelsOnOneLight(t *testing.T) {
	s := stage.New(t)
	s.Read(s.Light("window", "fill", "rigged/on", "true"), stage.CctDuv(1e6/(1e6/5600+22), 0))
	s.Add(kinds.Gel, "name", `"quarter blue"`, "gelKind", `"cool"`, "shiftMired", "-64", "quantity", "1")
	s.Add(kinds.Gel, "name", `"quarter orange"`, "gelKind", `"warm"`, "shiftMired", "42", "quantity", "1")
	s.Read(s.Light("tubes", "fill", "rigged/on", "true"), stage.CctDuv(5600, 0.004))
	s.Add(kinds.Gel, "name", `"strong minus"`, "gelKind", `"magenta"`, "cc", `{"density":20,"color":"magenta"}`, "quantity", "1")
	s.Add(kinds.Gel, "name", `"some plus"`, "gelKind", `"green"`, "cc", `{"density":14,"color":"green"}`, "quantity", "1")
	plan, lights := stage.PlanOf(t, s)
	for _, name := range []string{"window", "tubes"} {
		if l := lights[name]; len(l.Gels) > 1 || *l.Reaches {
			t.Errorf("got %+v, want one gel at most, and out of its limits", l)
		}
	}
	for _, other := range plan.Alternatives {
		for _, l := range other.Lights {
			names := fmt.Sprint(l.GelUses)
			if strings.Contains(names, "quarter blue") && strings.Contains(names, "quarter orange") ||
				strings.Contains(names, "strong minus") && strings.Contains(names, "some plus") {
				t.Errorf("rank %d: got %+v", other.Rank, l.GelUses)
			}
		}
	}
}

// Behind a full minus green a light above 10 000 K has no colour temperature: it can't be
// planned with, and the plan says so.
func TestPlanSaysWhichGelIsTooStrongForALight(t *testing.T) {
	s := stage.New(t)
	s.WhiteFrom(`{"as":"nominal","kelvin":12000,"locus":"blackBody"}`)
	s.Read(s.Light("sky", "fill", "rigged/on", "true"), stage.CctDuv(14000, 0.012))
	s.Add(kinds.Gel, "name", `"strong minus green"`, "gelKind", `"magenta"`,
		"cc", `{"density":45,"color":"magenta"}`, "quantity", "1")
	_, lights := stage.PlanOf(t, s)
	if l := lights["sky"]; !strings.Contains(l.Words, "behind it this light has no colour temperature: strong minus green") {
		t.Errorf("got %q", l.Words)
	}
	s.Minute(5)
	s.Read(s.Light("low sun", "fill", "rigged/on", "true"), stage.CctDuv(4000, 0.012))
	_, lights = stage.PlanOf(t, s)
	if l := lights["low sun"]; strings.Contains(l.Words, "left out") {
		t.Errorf("a light that bears it: got %q", l.Words)
	}
}
