package setup

import (
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// caution is chosen by the families of lamps in a set-up: common practice, no
// source.
var caution = []struct {
	families []string
	hot      bool // also for any lamp that is hot
	words    string
}{
	{[]string{"incandescent"}, true, "Hot lamps: switch off and let them cool before you touch one or change a gel, and wear gloves. Keep gel off the lens and the vents, use only gel rated for heat, and watch the first minutes for smoke and browning."},
	{[]string{"discharge"}, false, "Discharge lamps: never lit without the lens or UV glass or with a cracked one; striking needs high voltage, so only a qualified electrician opens the housing. Measure some minutes after striking, when the colour has settled."},
	{[]string{"fluorescent"}, false, "Fluorescent tubes hold mercury: air the room when one breaks and do not touch the pieces."},
}

const (
	everyLamp = "Measure at the subject and do not look into a bare lamp. Lamps and gel frames on stands catch the wind: " +
		"proper ladders, a second person, safety lines. Mains and wet places are for a qualified electrician."
	comesBefore = "Local rules, the maker's instructions and the person responsible on set come before this advice."
)

// Cautions are what to mind before following advice about the lamps that are in
// the set-up; none where there is no lamp.
func (s *SetUp) Cautions() []string {
	families, hot, lamps := map[string]bool{}, false, false
	for _, light := range s.lights {
		lamp, ok := s.book.RecordOf(kinds.Lamp, light.Ref("lamp"))
		if !ok {
			continue
		}
		lamps = true
		family := lamp.Text("family")
		families[family] = true
		hot = hot || lamp.Flag("hot", family == "incandescent" || family == "discharge")
	}
	out := []string{}
	for _, c := range caution {
		applies := c.hot && hot
		for _, family := range c.families {
			applies = applies || families[family]
		}
		if applies {
			out = append(out, c.words)
		}
	}
	if lamps {
		out = append(out, everyLamp, comesBefore)
	}
	return out
}

// JoinCautions joins those of several set-ups: each once, in the order of the table, and last
// whose word comes before the advice.
func JoinCautions(lists [][]string) []string {
	said := map[string]bool{}
	for _, list := range lists {
		for _, words := range list {
			said[words] = true
		}
	}
	out := []string{}
	for _, c := range caution {
		if said[c.words] {
			out = append(out, c.words)
		}
	}
	if said[comesBefore] {
		out = append(out, everyLamp, comesBefore)
	}
	return out
}

// CautionOf is the one caution that fits the lamp of a light.
func (s *SetUp) CautionOf(light logbook.View) string {
	lamp, ok := s.book.RecordOf(kinds.Lamp, light.Ref("lamp"))
	if !ok {
		return ""
	}
	for _, c := range caution {
		if c.hot && lighting.IsHot(lamp) && lamp.Text("family") != "discharge" {
			return c.words
		}
		for _, family := range c.families {
			if family == lamp.Text("family") {
				return c.words
			}
		}
	}
	return ""
}
