package figure_test

import (
	"testing"

	"evenwhite/logbook/figure"
)

var camera = figure.Limits{Mired: 8, DuvGreen: 0.002, DuvMagenta: 0.003, Steps: 4}

// off is a difference by mired, Duv and, where a third is given, steps.
func off(mired, duv float64, steps ...float64) figure.Difference {
	d := figure.Difference{Mired: &mired, Duv: &duv}
	if len(steps) > 0 {
		d.Steps = &steps[0]
	}
	return d
}

// What is not known widens a difference; it is a finding only where it is one whatever is true.
func TestAVerdictIsTakenAtEachEnd(t *testing.T) {
	for _, c := range []struct {
		name     string
		possible []figure.Difference
		want     figure.Verdict
		times    float64 // of the least
		words    string
	}{
		{"known_and_inside", []figure.Difference{off(8, 0.002)}, figure.Inside, 1, "8 mired warmer, Duv 0.0020 greener"},
		{"known_and_beyond", []figure.Difference{off(16, 0)}, figure.Beyond, 2, "16 mired warmer"},
		{"the_tint_0_of_a_camera_at_the_limit", []figure.Difference{off(0, 0.001), off(0, 0.0043)}, figure.CantTell, 0.5, "Duv 0.0010 to 0.0043 greener"},
		{"the_tint_0_of_a_camera_beyond_it", []figure.Difference{off(0, 0.0058), off(0, 0.0025)}, figure.Beyond, 1.25, "Duv 0.0025 to 0.0058 greener"},
		{"within_at_both", []figure.Difference{off(0, -0.0013), off(0, 0.002)}, figure.Inside, 0, "Duv 0.0013 more magenta to 0.0020 greener"},
		{"beyond_on_both_sides", []figure.Difference{off(0, -0.004), off(0, 0.004)}, figure.CantTell, 0, "Duv 0.0040 more magenta to 0.0040 greener"},
		{"mired_are_certain_and_green_is_not", []figure.Difference{off(9, -0.006), off(9, 0.006)}, figure.Beyond, 1.125, "9 mired warmer, Duv 0.0060 more magenta to 0.0060 greener"},
		{"green_is_certain_and_mired_are_not", []figure.Difference{off(-32, 0.004), off(32, 0.004)}, figure.Beyond, 2, "32 mired cooler to 32 warmer, Duv 0.0040 greener"},
		{"whites_apart_by_mired", []figure.Difference{off(-54, 0), off(-12, 0)}, figure.Beyond, 1.5, "12 to 54 mired cooler"},
		{"steps_alone_in_one_direction", []figure.Difference{off(7, 0.001, 4.4), off(7, 0.0015, 4.8)}, figure.Beyond, 1.1, "7 mired warmer, Duv 0.0010 to 0.0015 greener"},
		{"steps_alone_to_either_side", []figure.Difference{off(-7, 0.001, 4.4), off(7, 0.001, 4.8)}, figure.CantTell, 1.1, "7 mired cooler to 7 warmer, Duv 0.0010 greener"},
		{"a_coloured_light", []figure.Difference{{Steps: &[]float64{40}[0]}}, figure.Beyond, 10, "coloured, no CCT, 40 steps away"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := camera.Judge(c.possible)
			if got.Verdict != c.want || got.Words != c.words {
				t.Errorf("got %s, %q, want %s, %q", figure.VerdictWords[got.Verdict], got.Words, figure.VerdictWords[c.want], c.words)
			}
			if times := camera.TimesLimit(got.Least); c.times != 0 && (times < c.times-1e-9 || times > c.times+1e-9) {
				t.Errorf("the least is %g times its limit, want %g", times, c.times)
			}
		})
	}
}

func TestADifferenceInFewWords(t *testing.T) {
	for _, c := range []struct {
		d         figure.Difference
		too, than string
	}{
		{off(25, 0.001), "25 mired too warm", "25 mired warmer"},
		{off(-9, 0), "9 mired too cool", "9 mired cooler"},
		{off(0, 0.0026), "slightly green", "slightly greener"},
		{off(3, -0.005), "too magenta", "more magenta"},
		{off(0, 0.0061), "much too green", "much greener"},
		{off(9, 0.0025), "slightly warm and green", "slightly warmer and greener"},
		{off(25, 0.0025), "25 mired too warm and too green", "25 mired warmer and greener"},
		{off(-134, -0.02), "134 mired too cool and much too magenta", "134 mired cooler and much more magenta"},
		{off(7, 0.0018, 4.8), "slightly warm and green", "slightly warmer and greener"},
		{off(-8, 0.0003, 4.1), "slightly cool", "slightly cooler"},
		{off(1, -0.003, 6.5), "too magenta", "more magenta"},
	} {
		if got := camera.Too(c.d); got != c.too {
			t.Errorf("%s: got %q, want %q", c.d.InWords(), got, c.too)
		}
		if got := camera.Than(c.d); got != c.than {
			t.Errorf("%s: got %q, want %q", c.d.InWords(), got, c.than)
		}
	}
}
