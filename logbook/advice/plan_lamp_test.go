package advice_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

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
	if err != nil || len(n.Lights) != 2 || n.Lights[1].Problem != "last read before its kelvin dial was turned from 4000 to 5000" {
		t.Errorf("got %+v (%v), want the reading out of date by the dial", n.Lights, err)
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
	s.Set(light, "rigged/dialKelvin", "4000") // named for the first time: so it stood all along
	_, lights = stage.PlanOf(t, s)
	if l := lights["tile"]; l.DialKelvin == nil {
		t.Errorf("got %+v, want the dial turned", l)
	}
}

// Nobody knows what a unit of the dial does: the plan says which way to turn it, and puts no
// gel on where the dial can do it.
func TestPlanTurnsAGreenMagentaDialOfAnUnknownUnitBeforeAnyGel(t *testing.T) {
	for _, c := range []struct {
		name, plus, at string
		duv            float64
		turn, words    string
		gel            string // the name of the one that is put on, where the dial can't
	}{
		{"green, plus is green", "green", "0", 0.008, "magenta", "turn the green–magenta dial towards magenta (down), read again", ""},
		{"green, plus is magenta", "magenta", "0", 0.008, "magenta", "turn the green–magenta dial towards magenta (up), read again", ""},
		{"magenta, plus is magenta", "magenta", "3", -0.008, "green", "turn the green–magenta dial towards green (down), read again", ""},
		{"a dial whose place is not known", "green", "", 0.008, "magenta", "towards magenta (down)", ""},
		{"green, and the dial at its end", "green", "-20", 0.014, "", "put on half minus green", "half minus green"},
		{"green, and the dial at its other end", "magenta", "20", 0.014, "", "put on half minus green", "half minus green"},
		{"green, and the dial at the end that does not matter", "green", "20", 0.008, "magenta", "towards magenta (down)", ""},
		{"inside the limits", "green", "0", 0.002, "", "leave it as it is", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Add(kinds.Gel, "name", `"half minus green"`, "gelKind", `"magenta"`, "quantity", "2")
			lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`,
				"greenMagentaDial", fmt.Sprintf(`{"min":-20,"max":20,"step":1,"plusIs":%q}`, c.plus))
			fields := []string{"lamp", stage.Ref(lamp), "rigged/dialKelvin", "5600", "rigged/on", "true"}
			if c.at != "" {
				fields = append(fields, "rigged/dialGreenMagenta", c.at)
			}
			s.Read(s.Light("tile", "fill", fields...), stage.CctDuv(5600, c.duv), "illuminance", `{"value":100,"unit":"lux"}`)
			plan, lights := stage.PlanOf(t, s)
			l := lights["tile"]
			if l.TurnTowards != c.turn || !strings.Contains(l.Words, c.words) || l.DialGreenMagenta != nil {
				t.Errorf("got %+v, want %q and %q", l, c.turn, c.words)
			}
			if (len(l.Gels) == 1) != (c.gel != "") || len(l.Gels) == 1 && l.GelUses[0].Name != c.gel {
				t.Errorf("got gels %+v, want %q", l.GelUses, c.gel)
			}
			if c.turn == "" {
				return
			}
			// What the light will be after a turn is not known, and nothing is claimed.
			if l.Expected != nil || l.Residual != nil || l.Reaches != nil || plan.ToTurn != 1 || plan.Reached != 1 {
				t.Errorf("got %+v, %d to turn and %d reached, want nothing claimed", l, plan.ToTurn, plan.Reached)
			}
			if !strings.Contains(plan.Words, "1 to be turned and read again") || !strings.Contains(plan.Positions[0].Problem, "read again first") {
				t.Errorf("got %q, %+v", plan.Words, plan.Positions)
			}
		})
	}
}

// The kelvin dial is set by the same plan.
func TestPlanSetsTheKelvinDialBesideTheUnknownOne(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "kelvinDial", `{"as":"range","min":2700,"max":6500,"step":50}`,
		"greenMagentaDial", `{"min":-20,"max":20,"step":1,"plusIs":"green"}`)
	light := s.Light("tile", "fill", "lamp", stage.Ref(lamp), "rigged/dialKelvin", "3200", "rigged/dialGreenMagenta", "0", "rigged/on", "true")
	s.Read(light, stage.CctDuv(3200, 0.009))
	_, lights := stage.PlanOf(t, s)
	if got, want := lights["tile"].Words, "dial 5600 K, "+
		"turn the green–magenta dial towards magenta (down), read again: what a unit of that dial does is not known"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	s.Minute(5)
	s.Read(light, stage.CctDuv(3200, 0.001))
	_, lights = stage.PlanOf(t, s)
	if l := lights["tile"]; l.TurnTowards != "" || !strings.Contains(l.Words, "dial 5600 K: expect Duv 0.0010 greener") {
		t.Errorf("once the green is gone: got %+v, want the kelvin dial alone", l)
	}
}
