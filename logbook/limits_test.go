package logbook

import "testing"

func TestLimitsStartFromCommonPracticeAndAreOverridden(t *testing.T) {
	s := New(t)
	limits := func(role string) Limits {
		b := s.Book()
		v, _ := b.Record(s.SetUp)
		return LimitsOf(b, v, role)
	}
	for role, want := range map[string]Limits{
		"camera":    {"camera", 8, 0.002, 0.003, 4, NoSource},
		"key":       {"key", 10, 0.003, 0.003, 5, NoSource},
		"fill":      {"fill", 10, 0.003, 0.003, 5, NoSource},
		"back":      {"back", 15, 0.005, 0.005, 7, NoSource},
		"practical": {"practical", 15, 0.005, 0.005, 7, NoSource},
	} {
		if got := limits(role); got != want {
			t.Errorf("%s: got %+v, want %+v", role, got, want)
		}
	}
	s.Set(s.ProductionID(), "limits/key/mired", "6", "limits/key/steps", "3")
	s.Set(s.SetUp, "limits/key/mired", "20")
	if got, want := limits("key"), (Limits{"key", 20, 0.003, 0.003, 3, "setUp"}); got != want {
		t.Errorf("overridden: got %+v, want %+v", got, want)
	}
}

func TestAVerdictIsTakenOnWhatIsShown(t *testing.T) {
	limits := StartLimits("camera")
	for _, c := range []struct {
		mired, duv float64
		want       bool
	}{
		{8, 0, false}, {8.49, 0, false}, {8.51, 0, true}, {-8.51, 0, true},
		{0, 0.00204, false}, {0, 0.00206, true}, {0, -0.00304, false}, {0, -0.00306, true},
	} {
		d := Difference{Mired: Rounded(c.mired, MiredDecimals), Duv: Rounded(c.duv, DuvDecimals)}
		if _, got := limits.Exceeded(d); got != c.want {
			t.Errorf("%v mired, %v Duv: got %v, want %v", c.mired, c.duv, got, c.want)
		}
	}
	if _, got := limits.Exceeded(Difference{Steps: Rounded(4.06, StepsDecimals)}); !got {
		t.Error("4.1 steps: got within, want beyond 4")
	}
}
