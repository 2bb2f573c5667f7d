package lighting_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// One rule for cards and for gels: a practical without a lamp has no family, a light is of
// the sky only where its own sky says so.
func TestTheFamilyOfALight(t *testing.T) {
	s := stage.New(t)
	led := []string{"lamp", stage.Ref(s.Lamp), "rigged/on", "true"}
	tungsten := []string{"lamp", stage.Ref(s.Add(kinds.Lamp, "name", `"2k"`, "family", `"incandescent"`)), "rigged/on", "true"}
	bulb := []string{"rigged/on", "true"}
	sky := func(is string) []string { return []string{"rigged/on", "true", "sky", stage.Quoted(is)} }
	for _, c := range []struct {
		name   string
		lights [][]string
		want   string
	}{
		{"a_lamp", [][]string{led}, "twoColorLed"},
		{"a_practical_without_a_lamp", [][]string{bulb}, ""},
		{"a_window_in_the_sun", [][]string{sky("sun")}, "daylight"},
		{"a_window_at_night", [][]string{sky("night")}, ""},
		{"a_lantern_inside", [][]string{sky("inside")}, ""},
		{"a_lamp_outside_is_no_daylight", [][]string{append(sky("sun"), led...)}, "twoColorLed"},
		{"a_lamp_that_is_not_in_the_log", [][]string{append(sky("sun"), "lamp", stage.Ref(logbook.ID{1: 1}))}, ""},
		{"two_of_one_family", [][]string{led, led}, "twoColorLed"},
		{"two_families", [][]string{led, tungsten}, "mixed"},
		{"one_of_two_is_not_known", [][]string{bulb, led}, ""},
		{"the_other_way_round", [][]string{led, bulb}, ""},
		{"two_families_and_one_not_known", [][]string{led, bulb, tungsten}, "mixed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s.T = t
			m, origin := &lighting.Reading{}, figure.Origin{}
			for i, fields := range c.lights {
				light := s.Light(c.name+string(rune('a'+i)), "fill", fields...)
				m.Lights = append(m.Lights, light)
				origin.Records = append(origin.Records, s.Read(light, stage.OnLocus5600))
			}
			b := s.Book()
			if got := lighting.FamilyOfReading(b, m); got != c.want {
				t.Errorf("of a reading: got %q, want %q", got, c.want)
			}
			if got := lighting.FamilyOfOrigin(b, origin); got != c.want {
				t.Errorf("of an origin: got %q, want %q", got, c.want)
			}
			light, _ := b.Record(m.Lights[0])
			if got := lighting.FamilyOf(b, light); len(m.Lights) == 1 && got != c.want {
				t.Errorf("of the light: got %q, want %q", got, c.want)
			}
		})
	}
}
