package lighting

import (
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// FamilyOf is the family of a light's lamp; light from the sky is daylight, and ""
// stands for what is not known.
func FamilyOf(b *logbook.Book, light logbook.View) string {
	if lamp, ok := b.RecordOf(kinds.Lamp, light.Ref("lamp")); ok {
		return lamp.Text("family")
	}
	if light.Text("sky") != "" {
		return "daylight"
	}
	return ""
}

// FamilyOfReading is the family of the lamps that a reading is of: daylight for
// what has no lamp, mixed where they differ.
func FamilyOfReading(b *logbook.Book, m *Reading) string {
	lights := m.Lights
	if m.Of == "everything" {
		for _, light := range b.Referring(kinds.Light, "setUp", m.SetUp) {
			if IsOn(light) {
				lights = append(lights, light.ID)
			}
		}
	}
	found := ""
	for _, id := range lights {
		light, ok := b.RecordOf(kinds.Light, id)
		if !ok {
			continue
		}
		family := "daylight"
		if lamp, ok := b.RecordOf(kinds.Lamp, light.Ref("lamp")); ok {
			family = lamp.Text("family")
		}
		if found != "" && found != family {
			return "mixed"
		}
		found = family
	}
	return found
}

// FamilyOfOrigin is the family of the lamps whose readings a colour rests on.
func FamilyOfOrigin(b *logbook.Book, o figure.Origin) string {
	found := ""
	for _, id := range o.Records {
		v, ok := b.RecordOf(kinds.Reading, id)
		if !ok {
			continue
		}
		family := FamilyOfReading(b, Read(b, v))
		if found != "" && found != family {
			return "mixed"
		}
		found = family
	}
	return found
}

func IsHot(lamp logbook.View) bool {
	family := lamp.Text("family")
	return lamp.Flag("hot", family == "incandescent" || family == "discharge")
}
