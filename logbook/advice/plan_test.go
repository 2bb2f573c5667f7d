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

func TestPlansAreRankedByLightLost(t *testing.T) {
	s := stage.New(t)
	s.Fresnel("fresnel", "key")
	half := s.Add(kinds.Gel, "name", `"half CTB"`, "gelKind", `"cool"`, "quantity", "2")
	full := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
	plan, lights := stage.PlanOf(t, s)
	// Two halves: 312.5 − 136 − 178.6 = −2.1 mired for 1.8 stops; full +2.9 for 2.0.
	if l := lights["fresnel"]; len(l.Gels) != 2 || l.Gels[0] != half || l.LossStops != 1.8 {
		t.Errorf("the best: got %+v, want two halves", l)
	}
	if len(plan.Alternatives) != 2 || plan.Alternatives[0].Rank != 2 {
		t.Fatalf("got %d alternatives", len(plan.Alternatives))
	}
	next := plan.Alternatives[0]
	if l := next.Lights[1]; len(l.Gels) != 1 || l.Gels[0] != full || l.LossStops != 2 || !*l.Reaches {
		t.Errorf("the next: got %+v, want the full", l)
	}
	if next.Gels[0].Used != 0 || next.Gels[1].Used != 1 || next.Positions[0].Planned == nil {
		t.Errorf("the next: got %+v, %+v", next.Gels, next.Positions)
	}
	if third := plan.Alternatives[1]; third.Reached != 1 {
		t.Errorf("the third: got %d reached, want the one that needs nothing", third.Reached)
	}
	if plan.Reached != 2 || plan.ToCheck != 1 || !strings.Contains(plan.Words, "1 of 2") ||
		!strings.Contains(plan.Words, "1 more by calculation") {
		t.Errorf("got %q, %d to check: what rests on nominal values is not called inside by itself", plan.Words, plan.ToCheck)
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

func TestPlanTurnsADialFromWhereItStood(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`)
	light := s.Light("tile", "fill", "lamp", stage.Ref(lamp), "rigged/dialKelvin", "4000", "rigged/on", "true")
	s.Read(light, `{"as":"cctDuv","cctKelvin":3800,"duv":0}`, "illuminance", `{"value":100,"unit":"lux"}`)
	_, lights := stage.PlanOf(t, s)
	// 263.2 mired read on a dial of 250: the white of 178.6 wants a dial of 165.4, 6046 K.
	stage.Near(t, "dial", *lights["tile"].DialKelvin, 6050, 0)
	if l := lights["tile"]; !l.CheckWithMeter || !*l.Reaches {
		t.Errorf("got %+v, want it reached by calculation, to be checked", l)
	}
	t.Run("and learns what the dial does from two readings", func(t *testing.T) {
		s.Minute(10)
		s.Set(light, "rigged/dialKelvin", "5000")
		s.Minute(11)
		// 13.2 mired beside the dial at 250, and 0.8 mired for each mired: 223.2 at 200.
		s.Read(light, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%.4f,"duv":0}`, 1e6/(1e6/3800-0.8*50)))
		_, lights := stage.PlanOf(t, s)
		l := lights["tile"]
		// 223.2 − 178.6 = 44.6 mired, /0.8 = 55.7 on the dial: 144.3, beyond the end at 153.8 (6500 K).
		stage.Near(t, "dial", *l.DialKelvin, 6500, 0)
		stage.Near(t, "residual", *l.Residual.Mired, 8, 0)
		if l.CheckWithMeter || !strings.Contains(l.DialLearnt, "0.80 mired") {
			t.Errorf("got %+v, want the slope that was learnt", l)
		}
	})
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

func TestPlanSaysWhyALightHasNone(t *testing.T) {
	s := stage.New(t)
	s.Light("bulb", "key")
	off := s.Fresnel("off", "key")
	s.Set(off, "rigged/on", "false")
	s.Light("lantern", "practical", "intent", `"leave"`)
	colored := s.Light("neon", "fill", "rigged/on", "true")
	s.Read(colored, `{"as":"xy","x":0.2,"y":0.7}`)
	plan, lights := stage.PlanOf(t, s)
	for name, want := range map[string]string{"bulb": "not measured", "off": "not lit", "neon": "outside the domain"} {
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
