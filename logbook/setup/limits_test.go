package setup_test

import (
	"testing"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func TestLimitsStartFromCommonPracticeAndAreOverridden(t *testing.T) {
	s := stage.New(t)
	limits := func(role string) figure.Limits {
		b := s.Book()
		v, _ := b.Record(s.SetUp)
		return setup.LimitsOf(b, v, role)
	}
	for role, want := range map[string]figure.Limits{
		"camera":    {Role: "camera", Mired: 8, DuvGreen: 0.002, DuvMagenta: 0.003, Steps: 4, From: setup.NoSource},
		"key":       {Role: "key", Mired: 10, DuvGreen: 0.003, DuvMagenta: 0.003, Steps: 5, From: setup.NoSource},
		"fill":      {Role: "fill", Mired: 10, DuvGreen: 0.003, DuvMagenta: 0.003, Steps: 5, From: setup.NoSource},
		"back":      {Role: "back", Mired: 15, DuvGreen: 0.005, DuvMagenta: 0.005, Steps: 7, From: setup.NoSource},
		"practical": {Role: "practical", Mired: 15, DuvGreen: 0.005, DuvMagenta: 0.005, Steps: 7, From: setup.NoSource},
	} {
		if got := limits(role); got != want {
			t.Errorf("%s: got %+v, want %+v", role, got, want)
		}
	}
	s.Set(s.ProductionID(), "limits/key/mired", "6", "limits/key/steps", "3")
	s.Set(s.SetUp, "limits/key/mired", "20")
	want := figure.Limits{Role: "key", Mired: 20, DuvGreen: 0.003, DuvMagenta: 0.003, Steps: 3, From: "setUp"}
	if got := limits("key"); got != want {
		t.Errorf("overridden: got %+v, want %+v", got, want)
	}
}

func TestAVerdictIsTakenOnWhatIsShown(t *testing.T) {
	limits := setup.StartLimits("camera")
	for _, c := range []struct {
		mired, duv float64
		want       bool
	}{
		{8, 0, false}, {8.49, 0, false}, {8.51, 0, true}, {-8.51, 0, true},
		{0, 0.00204, false}, {0, 0.00206, true}, {0, -0.00304, false}, {0, -0.00306, true},
	} {
		d := figure.Difference{Mired: figure.Rounded(c.mired, figure.MiredDecimals), Duv: figure.Rounded(c.duv, figure.DuvDecimals)}
		if _, got := limits.Exceeded(d); got != c.want {
			t.Errorf("%v mired, %v Duv: got %v, want %v", c.mired, c.duv, got, c.want)
		}
	}
	if _, got := limits.Exceeded(figure.Difference{Steps: figure.Rounded(4.06, figure.StepsDecimals)}); !got {
		t.Error("4.1 steps: got within, want beyond 4")
	}
}
