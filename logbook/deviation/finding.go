package deviation

import (
	"slices"
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// sighting is one finding before it is joined with others of its cause.
type sighting struct {
	Finding
	cause    string
	times    float64      // how many times its limit
	subjects []logbook.ID // what it is about, without the set-up
	takes    []logbook.View
	clip     logbook.ID
	camera   logbook.ID
	one      logbook.ID // what is counted where neither take nor clip is named
	now      bool       // it is so now, whatever takes are named
	accepted *Accepted
	// unmatched is a light that was read before the white was chosen, too how it is off in few words.
	unmatched bool
	turned    bool // out of date because somebody did something to the light
	too       string
	name      string                                              // of one, where words name all that are counted
	words     func(names []string) (headline, toDo, words string) // makes them
}

// naming lets the words of a finding name all that it counts: those that are accepted and
// those that are not are two findings.
func (f sighting) naming(name string, words func(names []string) (headline, toDo, words string)) sighting {
	f.name, f.words = name, words
	return f
}

// Kinds lists the kinds by rank: of several findings of one cause the first of these
// gives the deviation its name, and of several deviations of one size it comes first.
var Kinds = []string{
	AutomaticWhite, NoSettings, SettingNotOnBody, WhiteUnresolved,
	SettingOffAim, AimNotReachable, CamerasDiffer, TakesDiffer, SetUpsDiffer, LightOffReference, LightOffOwnColor,
	LightDrifted, MixDrifted, MixDisagrees, LightLeaving, LightChanged, ReadingStale, WhiteOutlived,
	NoWhite, NoReading, WhiteNotKnown, NotLogged, NoBody, NoCamera, SettingsCarriedOver, NoChart,
	TakeNumberTwice, ClipNameTwice, TimecodeImpossible, TakeEndsFirst, ReferenceLeadsNowhere,
}

var worthless = []string{AutomaticWhite, NoSettings, SettingNotOnBody, WhiteUnresolved}

// Worthless reports whether a kind leaves footage whose white nobody knows.
func Worthless(kind string) bool { return slices.Contains(worthless, kind) }

func kindOrder(kind string) int {
	if i := slices.Index(Kinds, kind); i >= 0 {
		return i
	}
	return len(Kinds)
}

// causeOf joins the parts that make a cause what it is.
func causeOf(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		switch p := p.(type) {
		case logbook.ID:
			words[i] = p.String()
		case string:
			words[i] = p
		case int:
			words[i] = strconv.Itoa(p)
		}
	}
	return strings.Join(words, "/")
}
