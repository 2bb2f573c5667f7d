package stage

import (
	"math"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

func (d *Diary) Deviations(scope logbook.ID, at int) []deviation.Deviation {
	d.T.Helper()
	return deviation.Of(d.Book(), deviation.Scope{SetUp: scope}, Minute(at))
}

// KindWords lists the kinds of deviations, with what follows from each in brackets.
func KindWords(all []deviation.Deviation) string {
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

func MustKinds(t *testing.T, all []deviation.Deviation, want string) {
	t.Helper()
	if got := KindWords(all); got != want {
		t.Errorf("deviations: got %q, want %q", got, want)
		for _, d := range all {
			t.Logf("%s: %s", d.Kind, d.Words)
		}
	}
}

func DeviationOf(t *testing.T, all []deviation.Deviation, kind string) deviation.Deviation {
	t.Helper()
	for _, d := range all {
		if d.Kind == kind {
			return d
		}
	}
	t.Fatalf("got %q, want %s among them", KindWords(all), kind)
	return deviation.Deviation{}
}

func Near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v ± %v", what, got, want, tolerance)
	}
}

func CaveatsOf(o figure.Origin) string { return strings.Join(o.Caveats, "; ") }

func TypedColor(t *testing.T, measured string) colorimetry.XY {
	t.Helper()
	v, err := logbook.ParseValue(measured)
	if err != nil {
		t.Fatal(err)
	}
	xy, err := lighting.ColorOf(v)
	if err != nil {
		t.Fatalf("%s: %v", measured, err)
	}
	return xy
}

// PlanOf plans the stage's set-up and returns its lights by name.
func PlanOf(t *testing.T, s *Stage) (advice.SetUpPlan, map[string]advice.LightPlan) {
	t.Helper()
	plan, err := advice.Plan(s.Book(), s.SetUp, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	lights := map[string]advice.LightPlan{}
	for _, l := range plan.Lights {
		lights[l.Name] = l
	}
	return plan, lights
}
