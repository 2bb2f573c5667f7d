package deviation_test

import (
	"strings"
	"testing"

	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// The key reads 5600 K: 179 mired, its limit is 10. In whites of 4300 K (233 mired) and 3200 K
// (313) it is 54 and 134 mired too cool, in one of 5700 K (175) 3 too warm, in one of 7000 K
// (143) 36 too warm.
func TestALightIsOffWhereItIsInEachOfTheWhites(t *testing.T) {
	for _, c := range []struct {
		name, one, other, want string
	}{
		{"off by both on one side", "3200", "4300", "54 to 134 mired cooler"},
		{"off by one", "3200", "5700", ""},
		{"off by both on two sides", "4300", "7000", ""},
		{"off by none", "5550", "5700", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(3)
			for _, kelvin := range []string{c.one, c.other} {
				s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":`+kelvin+`,"locus":"blackBody"}`,
					"appliesFrom", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(s.White))
			}
			s.Minute(4)
			s.Take()
			words := ""
			for _, d := range s.Deviations(s.SetUp, 5) {
				if d.Kind == "light-off-reference" {
					words = d.Words
				}
			}
			if (words == "") != (c.want == "") || !strings.Contains(words, c.want) {
				t.Errorf("got %q, want %q", words, c.want)
			}
		})
	}
}
