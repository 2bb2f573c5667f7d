package lighting

import "evenwhite/logbook"

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

// SameState reports whether a light was set the same at two readings, for what they teach.
func SameState(light logbook.View, a, b *Reading) bool {
	return a.setAs(light).same(b.setAs(light), true)
}
