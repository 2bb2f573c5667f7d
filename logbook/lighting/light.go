package lighting

import "evenwhite/logbook"

func IsOn(light logbook.View) bool {
	return light.Flag("rigged/on", light.Flag("planned/on", true))
}

func Intent(light logbook.View) string {
	if intent := light.Text("intent"); intent != "" {
		return intent
	}
	switch light.Text("role") {
	case "key", "fill", "back", "background":
		return "match"
	}
	return "leave"
}

func SameState(light logbook.View, a, b *Reading) bool {
	for _, st := range lightState {
		x := a.Snapshot(light, st.field)
		if x == "" {
			continue
		}
		if y := b.Snapshot(light, st.field); y != "" && !x.Equal(y) {
			return false
		}
	}
	return true
}
