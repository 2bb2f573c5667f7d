package advice_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

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
	if plan.Reached != 2 || plan.ToCheck != 1 || plan.Words != "1 light is fine; 1 should be after this: meter it" {
		t.Errorf("got %q, %d to check: what rests on nominal values is not called inside by itself", plan.Words, plan.ToCheck)
	}
}

// Twelve lights and as many kinds of gel as twice that, one of each: not every use of them
// can be tried, and the plan says so.
func TestAPlanThatIsNotProvenSaysSo(t *testing.T) {
	s := stage.New(t)
	s.WhiteFrom(`{"as":"nominal","kelvin":4904,"duv":0.003,"locus":"blackBody"}`)
	for i, at := range [][2]float64{
		{2995, -0.0041}, {6284, -0.0072}, {2871, 0.0065}, {6473, -0.0007}, {5183, 0.0034}, {3298, 0.0045},
		{2856, -0.0071}, {4943, -0.0014}, {5488, 0.0005}, {5363, 0.0003}, {5502, 0.0051}, {4395, 0.0041},
	} {
		s.Read(s.Light(fmt.Sprint("light ", i+1), "fill", "rigged/on", "true"), stage.CctDuv(at[0], at[1]))
	}
	for _, shift := range []int{-12, -139, 18, 20, 45, 41, -32, 86, 40, -135, -62} {
		s.Add(kinds.Gel, "name", fmt.Sprintf("%q", fmt.Sprint("gel ", shift)), "gelKind", map[bool]string{true: `"warm"`, false: `"cool"`}[shift > 0],
			"shiftMired", fmt.Sprint(shift), "quantity", "1")
	}
	for _, cc := range []float64{29.6, 15, 7, -7, -3.8, 14.4, -14.2, -14.5, -16.4, 14.1, -3.4, 3.5, 6.8} {
		color := map[bool]string{true: "green", false: "magenta"}[cc > 0]
		s.Add(kinds.Gel, "name", fmt.Sprintf("%q", fmt.Sprint("gel ", cc)), "gelKind", stage.Quoted(color),
			"cc", fmt.Sprintf(`{"density":%g,"color":%q}`, math.Abs(cc), color), "quantity", "1")
	}
	plan, _ := stage.PlanOf(t, s)
	if plan.Proven || !strings.HasSuffix(plan.Words, "; found by exchange, not proven the best") {
		t.Errorf("got proven %v, %q", plan.Proven, plan.Words)
	}
	for _, g := range plan.Gels {
		if g.Used > 1 {
			t.Errorf("got %+v, want one of one at most", g)
		}
	}
}
