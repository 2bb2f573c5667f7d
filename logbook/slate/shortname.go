package slate

import (
	"strings"

	"evenwhite/logbook"
)

// ShortName is a production's short name, or one made from its title: lower-case
// letters and digits joined by hyphens, at most 16, cut between words where that
// leaves any. "" where the title has neither.
func ShortName(production logbook.View) string {
	if name := production.Text("shortName"); name != "" {
		return name
	}
	const most = 16
	words := strings.FieldsFunc(strings.ToLower(production.Text("title")), func(r rune) bool {
		return !('a' <= r && r <= 'z' || '0' <= r && r <= '9')
	})
	name := ""
	for _, word := range words {
		switch {
		case name == "":
			name = word[:min(len(word), most)]
		case len(name)+1+len(word) <= most:
			name += "-" + word
		default:
			return name
		}
	}
	return name
}
