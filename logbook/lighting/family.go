package lighting

import (
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// OfSky reports whether a light comes from the sky: it has no lamp, and its own sky is
// one under which there is daylight.
func OfSky(light logbook.View) bool {
	sky := light.Text("sky")
	return light.Ref("lamp").IsZero() && sky != "" && sky != "inside" && sky != "night"
}

// FamilyOf is the family of a light's lamp; light from the sky is daylight, and ""
// stands for what is not known, as of a practical whose lamp nobody entered.
func FamilyOf(b *logbook.Book, light logbook.View) string {
	if lamp, ok := b.RecordOf(kinds.Lamp, light.Ref("lamp")); ok {
		return lamp.Text("family")
	}
	if OfSky(light) {
		return "daylight"
	}
	return ""
}

// FamilyOfReading is the family of the lamps that a reading is of, those that made the light
// then.
func FamilyOfReading(b *logbook.Book, m *Reading) string {
	var all []string
	if m.Of == "everything" {
		entered := max(m.TakenAt, m.view.CreatedAt())
		for _, light := range b.Referring(kinds.Light, "setUp", m.SetUp) {
			if light.CreatedAt() <= entered && historyOf(light, "on", []*Reading{m}).at(m.TakenAt) == "true" {
				all = append(all, familyAt(b, light, m.TakenAt))
			}
		}
	}
	for _, id := range m.Lights {
		if light, ok := b.RecordOf(kinds.Light, id); ok {
			all = append(all, familyAt(b, light, m.TakenAt))
		}
	}
	return familyOf(all)
}

// familyAt is the family of the lamp that a light had at a moment.
func familyAt(b *logbook.Book, light logbook.View, at logbook.Millis) string {
	if id, ok := historyOf(light, "lamp", nil).at(at).ID(); ok {
		lamp, _ := b.RecordOf(kinds.Lamp, id)
		if lamp.Known() {
			return lamp.Text("family")
		}
		return ""
	}
	return FamilyOf(b, light)
}

// FamilyOfOrigin is the family of the lamps whose readings a colour rests on.
func FamilyOfOrigin(b *logbook.Book, o figure.Origin) string {
	var all []string
	for _, id := range o.Records {
		if v, ok := b.RecordOf(kinds.Reading, id); ok {
			all = append(all, FamilyOfReading(b, Read(b, v)))
		}
	}
	return familyOf(all)
}

// familyOf is the family of several lights: mixed where two known ones differ, else not
// known where one is not.
func familyOf(all []string) string {
	found, unknown := "", false
	for _, family := range all {
		switch {
		case family == "":
			unknown = true
		case found != "" && found != family:
			return "mixed"
		default:
			found = family
		}
	}
	if unknown {
		return ""
	}
	return found
}

func IsHot(lamp logbook.View) bool {
	family := lamp.Text("family")
	return lamp.Flag("hot", family == "incandescent" || family == "discharge")
}

func lampOf(light logbook.View) (logbook.View, bool) {
	return light.Book().RecordOf(kinds.Lamp, light.Ref("lamp"))
}
