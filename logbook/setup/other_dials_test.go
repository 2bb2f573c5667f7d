package setup_test

import (
	"strings"
	"testing"

	"evenwhite/logbook/advice"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// Where whites are contested, what to dial by each of them is said, or that it can't be told.
func TestWhatToDialByEachContestedWhite(t *testing.T) {
	for from, want := range map[string]string{
		`{"as":"nominal","kelvin":3200,"locus":"blackBody"}`:                      "3200 K by nominal 3200 K",
		`{"as":"customFromCard","sample":"00000000-0000-7000-8000-0000000000ff"}`: "can't tell by custom white from a card: ",
	} {
		s := stage.New(t)
		s.Minute(3)
		for _, rule := range []string{from, `{"as":"nominal","kelvin":4300,"locus":"blackBody"}`} {
			s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", rule, "appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White))
		}
		s.Minute(4)
		n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range n.Cameras {
			if c.ToDial == nil || c.ToDial.Words != "4300 K" || len(c.Contested) != 1 || !strings.HasPrefix(c.Contested[0].Words, want) {
				t.Errorf("camera %s: got %+v, contested %+v, want 4300 K, and %q", c.Letter, c.ToDial, c.Contested, want)
			}
		}
		s.Shoot("4300", "4300")
		m, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.B}, s.Clock)
		if err != nil || !strings.Contains(m.Words, "; contested: "+want) {
			t.Errorf("match says %q (%v), want %q in it", m.Words, err, want)
		}
	}
}
