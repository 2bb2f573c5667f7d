package footage

import (
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// SettingDifference is a setting that the file of a clip says otherwise than the log.
type SettingDifference struct {
	Clip   logbook.ID `json:"clip"`
	Name   string     `json:"name"`
	Result string     `json:"result"` // of the clip: those of sure ones are adopted together
	File   Settings   `json:"file"`   // what differs, as the file says it
	Log    Settings   `json:"log"`
	Words  string     `json:"words"`
}

// compare holds what the file of a clip says of the camera against the log, and reports whether all
// of it, the kelvin among it, is the same. What the log has no number for is not compared.
func (j *joiner) compare(row *Row, rec *recorded, c JoinedClip) (confirmed bool) {
	file, d := rec.Said, SettingDifference{Clip: row.Clip, Name: rec.Name, Result: c.Result}
	var words []string
	note := func(what, said, logged, unit string) {
		if logged == "" {
			logged = "none"
			unit = ""
		}
		words = append(words, "file "+what+Shown(said)+unit+", log "+what+Shown(logged)+unit)
	}
	byKelvin := row.Mode == "kelvin"
	if file.Kelvin != "" && byKelvin && !sameNumber(file.Kelvin, append(kelvins(row.Changed), row.Said.Kelvin)) {
		d.File.Kelvin, d.Log.Kelvin = file.Kelvin, row.Said.Kelvin
		note("", file.Kelvin, row.Said.Kelvin, " K")
	}
	if file.Tint != "" && byKelvin && !sameNumber(file.Tint, append(tints(row.Changed), orZero(row.Said.Tint))) {
		d.File.Tint, d.Log.Tint = file.Tint, row.Said.Tint
		note("tint ", file.Tint, row.Said.Tint, "")
	}
	if file.Lens != "" && !sameText(file.Lens, row.Said.Lens) {
		d.File.Lens, d.Log.Lens = file.Lens, row.Said.Lens
		note("lens ", file.Lens, row.Said.Lens, "")
	}
	if len(words) > 0 {
		d.Words = strings.Join(words, "; ")
		j.out.Settings = append(j.out.Settings, d)
		j.out.Counts.Different++
		return false
	}
	return file.Kelvin != "" && byKelvin
}

// orZero is a tint; one that nobody set is 0.
func orZero(text string) string {
	if text == "" {
		return "0"
	}
	return text
}

func kelvins(all []Settings) (list []string) {
	for _, s := range all {
		list = append(list, s.Kelvin)
	}
	return list
}

func tints(all []Settings) (list []string) {
	for _, s := range all {
		list = append(list, orZero(s.Tint))
	}
	return list
}

// sameNumber compares with the setting at the start and with those changed to while it rolled.
func sameNumber(file string, logged []string) bool {
	want, err := strconv.ParseFloat(file, 64)
	if err != nil {
		return false
	}
	for _, text := range logged {
		if got, err := strconv.ParseFloat(text, 64); err == nil && got == want {
			return true
		}
	}
	return false
}

// sameText compares lenses as people write them: 35mm, 35 mm.
func sameText(a, b string) bool {
	plain := func(text string) string { return strings.ToLower(strings.Join(strings.Fields(text), "")) }
	return plain(a) == plain(b)
}
