package advice_test

import (
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

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
