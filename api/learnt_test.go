package api

import (
	"fmt"
	"testing"
)

// TestWhatTheLogTeachesOverHTTP: a lamp that is off its dial, a gel that is not as
// printed, and a second meter, by readings that are posted one by one.
func TestWhatTheLogTeachesOverHTTP(t *testing.T) {
	g := setStage(t)
	g.ids["second"] = g.ask("POST", g.base+"/records/meter", `{"name":"the old one","meterKind":"threeSensor"}`).want(201).id()
	read := func(minute int, kelvin float64, lux int, more string) {
		g.ask("POST", g.base+"/records/reading", g.fill(fmt.Sprintf(`{"setUp":"$setUp","measured":{"as":"cctDuv","cctKelvin":%.2f,"duv":0.002},"illuminance":{"value":%d,"unit":"lux"},
			"takenAt":"2031-03-04T06:%02d:00Z","of":{"as":"light","light":"$panel"},%s}`, kelvin, lux, minute, more))).want(201)
	}
	asSet := func(dial int, gels string) string {
		return fmt.Sprintf(`"lightsAsSet":{"$panel":{"dialKelvin":%d,"levelPercent":100,"gels":[%s],"on":true}}`, dial, gels)
	}
	read(30, 1e6/(1e6/5600+6), 800, `"meter":"$meter",`+asSet(5600, ""))
	read(31, 1e6/(1e6/3200+10), 900, `"meter":"$meter",`+asSet(3200, ""))
	// The half warm of the inventory is printed as +81: here it does 70, and takes half the light.
	read(32, 1e6/(1e6/5600+76), 400, `"meter":"$meter",`+asSet(5600, `"$gel"`))
	read(33, 1e6/(1e6/3200+13), 1000, `"meter":"$second",`+asSet(3200, ""))

	lamp := g.ask("GET", g.record("lamp", "lamp")+"/learnt", "").want(200)
	// +6, +10 and +13 mired on two positions.
	if lamp.count("positions") != 2 || lamp.number("error", "mired") != 10 || lamp.number("error", "count") != 3 {
		t.Errorf("the lamp: got %s", lamp.body)
	}
	gel := g.ask("GET", g.record("gel", "gel")+"/learnt", "").want(200)
	if gel.number("families", 0, "learnt", "mired") != 70 || gel.number("families", 0, "lossStops") != 1 ||
		gel.number("printed", "shiftMired") != 81 {
		t.Errorf("the gel: got %s", gel.body)
	}
	meter := g.ask("GET", g.record("meter", "meter")+"/learnt", "").want(200)
	if meter.number("others", 0, "learnt", "mired") != -3 || meter.number("others", 0, "illuminance") != 0.9 {
		t.Errorf("the meter: got %s", meter.body)
	}
	plan := g.ask("GET", g.base+"/set-ups/"+g.ids["setUp"]+"/plan", "").want(200)
	if got := plan.at("lights", 1, "dialLearnt"); got == "" {
		t.Errorf("the plan does not say what the dial taught: %s", plan.at("lights", 1))
	}
	for _, kind := range []string{"lamp", "gel", "meter"} {
		g.ask("GET", g.base+"/records/"+kind+"/"+g.ids["take"]+"/learnt", "").want(404)
	}
}
