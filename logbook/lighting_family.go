package logbook

// FamilyOf is the family of a light's lamp; light from the sky is daylight, and ""
// stands for what is not known.
func FamilyOf(b *Book, light View) string {
	if lamp, ok := b.RecordOf(KindLamp, light.Ref("lamp")); ok {
		return lamp.Text("family")
	}
	if light.Text("sky") != "" {
		return "daylight"
	}
	return ""
}

// FamilyOfReading is the family of the lamps that a reading is of: daylight for
// what has no lamp, mixed where they differ.
func FamilyOfReading(b *Book, m *Measurement) string {
	lights := m.Lights
	if m.Of == "everything" {
		for _, light := range b.Referring(KindLight, "setUp", m.SetUp) {
			if LightIsOn(light) {
				lights = append(lights, light.ID)
			}
		}
	}
	found := ""
	for _, id := range lights {
		light, ok := b.RecordOf(KindLight, id)
		if !ok {
			continue
		}
		family := "daylight"
		if lamp, ok := b.RecordOf(KindLamp, light.Ref("lamp")); ok {
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
func FamilyOfOrigin(b *Book, o Origin) string {
	found := ""
	for _, id := range o.Records {
		v, ok := b.RecordOf(KindReading, id)
		if !ok {
			continue
		}
		family := FamilyOfReading(b, MeasurementOf(b, v))
		if found != "" && found != family {
			return "mixed"
		}
		found = family
	}
	return found
}

func IsHot(lamp View) bool {
	family := lamp.Text("family")
	return lamp.Flag("hot", family == "incandescent" || family == "discharge")
}
