package cameras_test

import (
	"strings"
	"testing"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// A practical whose lamp nobody entered has no family: cards under lamps that are known say
// too little of it where they are of several families, and one under it says most.
func TestCardsForALightOfNoKnownFamily(t *testing.T) {
	for _, c := range []struct {
		name   string
		under  []string // the families of the cards' lamps; "": a practical
		ask    string
		cards  int // that count
		sure   string
		caveat string
	}{
		{"one_family", []string{"whiteLed", "whiteLed"}, "", 2, "good", ""},
		{"several_families", []string{"whiteLed", "incandescent"}, "", 2, "poor", "several families"},
		{"its_own_card_and_others", []string{"whiteLed", "incandescent", ""}, "", 1, "fair", ""},
		{"only_a_practical_for_a_lamp", []string{""}, "incandescent", 1, "poor", "is not known: a camera may differ"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			for _, family := range c.under {
				light := s.Light("under "+family, "fill", "rigged/on", "true")
				if family != "" {
					s.Set(light, "lamp", stage.Ref(s.Add(kinds.Lamp, "name", stage.Quoted(family), "family", stage.Quoted(family))))
				}
				s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Read(light, stage.OnLocus5600))
			}
			b := s.Book()
			body, _ := b.Record(s.BodyB)
			got, ok := cameras.ErrorByCards(b, body, cameras.ErrorQuery{Family: c.ask, Light: stage.Day5600, Label: stage.Day5600, At: s.Clock})
			if !ok || len(got.Samples) != c.cards || got.Confidence != c.sure || !strings.Contains(strings.Join(got.Caveats, "; "), c.caveat) {
				t.Errorf("got %+v, want %d cards, %s, %q", got, c.cards, c.sure, c.caveat)
			}
		})
	}
}
