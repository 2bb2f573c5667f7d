package advice_test

import (
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
	if plan.Reached != 2 || plan.ToCheck != 1 || !strings.Contains(plan.Words, "1 of 2") ||
		!strings.Contains(plan.Words, "1 more by calculation") {
		t.Errorf("got %q, %d to check: what rests on nominal values is not called inside by itself", plan.Words, plan.ToCheck)
	}
}
