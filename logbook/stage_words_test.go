package logbook

import (
	"evenwhite/colorimetry"
	"math"
	"strings"
	"testing"
)

func (d *diary) deviations(scope ID, at int) []Deviation {
	d.t.Helper()
	return Deviations(d.book(), DeviationScope{SetUp: scope}, minute(at))
}

// kindWords lists the kinds of deviations, with what follows from each in brackets.
func kindWords(all []Deviation) string {
	var words []string
	for _, d := range all {
		word := d.Kind
		if d.Accepted != nil {
			word = "accepted " + word
		}
		for _, also := range d.Also {
			word += "+" + also.Kind
		}
		words = append(words, word)
	}
	return strings.Join(words, " ")
}

func mustKinds(t *testing.T, all []Deviation, want string) {
	t.Helper()
	if got := kindWords(all); got != want {
		t.Errorf("deviations: got %q, want %q", got, want)
		for _, d := range all {
			t.Logf("%s: %s", d.Kind, d.Words)
		}
	}
}

func deviationOf(t *testing.T, all []Deviation, kind string) Deviation {
	t.Helper()
	for _, d := range all {
		if d.Kind == kind {
			return d
		}
	}
	t.Fatalf("got %q, want %s among them", kindWords(all), kind)
	return Deviation{}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v ± %v", what, got, want, tolerance)
	}
}

func caveatsOf(o Origin) string { return strings.Join(o.Caveats, "; ") }

func colorOf(t *testing.T, measured string) colorimetry.XY {
	t.Helper()
	v, err := ParseValue(measured)
	if err != nil {
		t.Fatal(err)
	}
	xy, err := ColorOf(v)
	if err != nil {
		t.Fatalf("%s: %v", measured, err)
	}
	return xy
}

// planOf plans the stage's set-up and returns its lights by name.
func planOf(t *testing.T, s *stage) (SetUpPlan, map[string]LightPlan) {
	t.Helper()
	plan, err := PlanSetUp(s.book(), s.setUp, s.clock)
	if err != nil {
		t.Fatal(err)
	}
	lights := map[string]LightPlan{}
	for _, l := range plan.Lights {
		lights[l.Name] = l
	}
	return plan, lights
}
