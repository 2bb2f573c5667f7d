package colorlog

import (
	"strconv"
	"strings"
	"time"
)

var findColumns = []Column{
	{"clip name", "as counted, read off the camera, or from a listing of the card", Typed,
		func(l *line) string { return l.Find.ClipName }, because("nobody named it")},
	{"row", "which of the rows of this clip: it has one for each take that it holds", Whole,
		func(l *line) string { return strconv.Itoa(l.Find.Row) }, nil},
	{"rows", "how many rows this clip has", Whole, func(l *line) string { return strconv.Itoa(l.Find.Rows) }, nil},
	{"day", "number of the shooting day", Whole, func(l *line) string { return l.Find.DayNumber.String() }, noDay},
	{"date", "of the shooting day", Date, func(l *line) string { return l.Find.Date }, noDay},
	{"unit", "of the shooting day", Typed, func(l *line) string { return l.Find.Unit }, noDay},
	{"scene", "as on the slate", Typed, func(l *line) string { return l.Find.Scene }, because("the set-up names no scene")},
	{"set-up", "as on the slate", Typed, func(l *line) string { return l.Find.SetUp }, because("the set-up is not in the log")},
	{"take", "number and suffix", Typed, func(l *line) string { return l.take().Number.String() + l.take().Suffix }, noTake},
	{"take kind", "take, chart, false start or test; of a clip with no take what the clip is", Words,
		func(l *line) string { return Spoken(l.kind()) }, nil},
	{"take state", "complete, false start, no good, or number used again", Words, func(l *line) string { return Spoken(l.take().State) },
		noTake},
	{"camera", "letter on the set", Typed, func(l *line) string { return l.Find.Camera }, notLogged},
	{"body", "the camera body that filled the letter", Typed, func(l *line) string { return l.Find.Body }, notLogged},
	{"card", "that was in the body", Typed, func(l *line) string { return l.Find.Card }, notLogged},
	{"timecode start", "of the clip", TimecodeText, func(l *line) string { return l.Find.Timecode.Start }, notLogged},
	{"timecode end", "of the clip", TimecodeText, func(l *line) string { return l.Find.Timecode.End }, notLogged},
	{"timecode rate (frames/s)", "of the count; drop: some numbers are left out (SMPTE ST 12-1)", Words,
		func(l *line) string { return l.Find.Timecode.rate() }, notLogged},
	{"take begins at timecode", "within the clip; only of a take that was logged so, as in a series", TimecodeText,
		func(l *line) string { return l.take().BeginsAt }, nil},
	{"started (UTC)", "when the clip began, else its take, else when it was logged", Moment,
		func(l *line) string { return l.Find.StartedAt.Format(time.RFC3339) }, nil},
	{"started (local)", "the same moment in the zone of its day, with the offset", Moment,
		func(l *line) string { return l.Find.StartedLocal }, because("no time zone is known")},
	{"clip name from", "counted, read off, or from listing", Words, func(l *line) string { return Spoken(l.Find.NameFrom) },
		because("nobody named it")},
	{"part", "of a recording that one camera began again within a take; only there", Whole,
		func(l *line) string { return l.Find.Part.String() }, nil},
	{"series", "whether the take is one of several without a cut", YesOrNo, func(l *line) string { return yes(l.take().Series) }, nil},
	{"wanted", "whether somebody marked the take as wanted", YesOrNo, func(l *line) string { return yes(l.take().Wanted) }, nil},
	{"rolled", "no: the camera did not record, there is no footage", YesOrNo, func(l *line) string { return yes(l.Find.Rolled) }, nil},
}

var (
	noDay  = because("the set-up belongs to no day")
	noTake = because("the clip belongs to no take")
)

var setColumns = []Column{
	{"white mode", "kelvin, preset, custom from card, auto or auto held", Words, func(l *line) string { return Spoken(l.Set.WhiteMode) },
		notLogged},
	{"kelvin set (K)", "on the dial, as typed", Number, func(l *line) string { return l.Set.Kelvin.String() }, unlessMode("kelvin")},
	{"tint set (units of the body)", "on the dial, as typed", Number, func(l *line) string { return l.Set.Tint.String() }, notLogged},
	{"amber-blue set (units of the body)", "on the fine axis, as typed; only of bodies that have one", Number,
		func(l *line) string { return l.Set.AmberBlue.String() }, nil},
	{"preset", "its name on the body; only where the white mode is preset", Typed, func(l *line) string { return l.Set.Preset }, nil},
	{"settings are", "carried over, read off, from file, or not read off: nobody said it", Words,
		func(l *line) string { return Spoken(l.Set.SettingsAre) }, nil},
	{"changes while rolling", "of the white; only where there was one", Words,
		func(l *line) string { return strings.Join(l.Set.Changes, "; ") }, nil},
	{"recorded as", "the recording mode", Typed, func(l *line) string { return l.Set.RecordingMode }, notLogged},
	{"encoding", "transfer and primaries of the recording mode", Words,
		func(l *line) string { return EncodingWords(l.Set.Encoding, l.Set.Primaries) }, notLogged},
	{"white in the file", "baked, stored beside, or free to change", Words, func(l *line) string { return Spoken(l.Set.WhiteInFile) },
		notLogged},
	{"sensitivity (ISO or EI)", "as typed", Number, func(l *line) string { return l.Set.Sensitivity.String() }, notLogged},
	{"shutter", "as shown on the body", Typed, func(l *line) string { return l.Set.Shutter }, notLogged},
	{"sensor rate (frames/s)", "as typed", Number, func(l *line) string { return l.Set.SensorRate.String() }, notLogged},
	{"lens", "as typed", Typed, func(l *line) string { return l.Set.Lens }, notLogged},
	{"filters", "as typed", Typed, func(l *line) string { return l.Set.Filters }, notLogged},
	{"label white CCT (K)", "the white that the setting names on this body", Number, func(l *line) string { return cct(l.Set.LabelWhite) },
		func(l *line) string { return uncolored(l.Set.LabelWhite, l.Set.Problem) }},
	{"label white Duv", "+ greener", Number, func(l *line) string { return duv(l.Set.LabelWhite) },
		func(l *line) string { return uncolored(l.Set.LabelWhite, l.Set.Problem) }},
	{"label white assumes", "what of the body is not known and was assumed for its white; only where something was", Words,
		func(l *line) string {
			if l.Set.LabelWhite == nil {
				return ""
			}
			return l.Set.Problem
		}, nil},
}

func unlessMode(mode string) func(*line) string {
	return func(l *line) string {
		if l.Set.WhiteMode != "" && l.Set.WhiteMode != mode {
			return "the white mode is " + Spoken(l.Set.WhiteMode)
		}
		return "not logged"
	}
}

func (l *line) take() Take {
	if l.Find.Take == nil {
		return Take{}
	}
	return *l.Find.Take
}

func (l *line) kind() string {
	if l.Find.Take == nil {
		return l.Find.ClipKind
	}
	return l.Find.Take.Kind
}

func (t Timecode) rate() string {
	if t.Drop && t.Rate != "" {
		return t.Rate + " drop"
	}
	return t.Rate
}
