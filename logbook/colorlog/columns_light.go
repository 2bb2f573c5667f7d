package colorlog

import (
	"cmp"
	"strings"

	"evenwhite/logbook/figure"
)

var meantColumns = []Column{
	{"white", "what the set-up called white, in words; whites that were chosen apart are named", Words,
		func(l *line) string { return cmp.Or(l.Meant.Contested, l.Meant.Words) }, noWhite},
	{"white from", "the form of its rule", Words, func(l *line) string { return Spoken(l.Meant.From) }, noWhite},
	{"white since", "from where on it holds", Words, func(l *line) string { return l.Meant.Since }, noWhite},
	{"white CCT (K)", "its colour temperature", Number, func(l *line) string { return cct(l.Meant.Color) },
		func(l *line) string { return uncolored(l.Meant.Color, noWhite(l)) }},
	{"white Duv", "+ greener", Number, func(l *line) string { return duv(l.Meant.Color) },
		func(l *line) string { return uncolored(l.Meant.Color, noWhite(l)) }},
	{"white known by", "measured, mixed, computed, nominal or label", Words, func(l *line) string { return l.Meant.Confidence }, noWhite},
	{"white caveats", "what is to be known of it; only where something is", Words,
		func(l *line) string { return strings.Join(l.Meant.Caveats, "; ") }, nil},
	{"intended cast", "its name; only where one was named", Typed, func(l *line) string { return l.Meant.IntendedCast.Name }, nil},
	{"intended cast (mired)", "+ warmer", Number, func(l *line) string { return plain(&l.Meant.IntendedCast.Mired) }, nil},
	{"intended cast (Duv)", "+ greener", Number, func(l *line) string { return plain(&l.Meant.IntendedCast.Duv) }, nil},
	{"aim CCT (K)", "the white that this camera should be on", Number, func(l *line) string { return cct(l.Meant.Aim) },
		func(l *line) string { return uncolored(l.Meant.Aim, noWhite(l)) }},
	{"aim Duv", "+ greener", Number, func(l *line) string { return duv(l.Meant.Aim) },
		func(l *line) string { return uncolored(l.Meant.Aim, noWhite(l)) }},
	{"decided by", "who chose the white", Typed, func(l *line) string { return l.Meant.DecidedBy }, func(l *line) string {
		if l.Meant.Words == "" {
			return noWhite(l)
		}
		return "not logged"
	}},
	{"judged on", "meter, monitor or eye; only where somebody said it", Words, func(l *line) string { return Spoken(l.Meant.JudgedOn) }, nil},
}

func noWhite(l *line) string { return cmp.Or(l.Meant.Problem, "not known") }

var thereColumns = []Column{
	{"light from", "which reading speaks for the light of the clip, and how", Words, func(l *line) string { return l.There.ReferenceFrom },
		noLight},
	{"light CCT (K)", "of the reference light, else of the mix, at the clip", Number, func(l *line) string { return cct(l.There.Reference) },
		func(l *line) string { return uncolored(l.There.Reference, noLight(l)) }},
	{"light Duv", "+ greener", Number, func(l *line) string { return duv(l.There.Reference) },
		func(l *line) string { return uncolored(l.There.Reference, noLight(l)) }},
	{"reading age (min)", "to the start of the clip", Number, func(l *line) string { return plain(l.There.AgeMinutes) }, func(l *line) string {
		if l.There.Reference == nil {
			return noLight(l)
		}
		return "the light has no one reading"
	}},
	{"illuminance (lx)", "of the reference light", Number, func(l *line) string { return plain(l.There.IlluminanceLux) },
		func(l *line) string {
			if l.There.Reference == nil {
				return noLight(l)
			}
			return "its reading has no lux, or it has no one reading"
		}},
	{"sky", "that a reading or take named last; only where one did", Words, func(l *line) string { return Spoken(l.There.Sky) }, nil},
	{"lights", "each light at the clip, against the white", Words, func(l *line) string { return l.lights() },
		because("the set-up has no light")},
}

func noLight(*line) string { return "the light was not measured at the clip" }

var givesColumns = slicesOf(
	differenceColumns("measured cast", "how the light looks in this camera by a grey card in the clip itself",
		func(l *line) *figure.Difference { return l.Gives.Measured }, because("there is no usable grey card in the clip")),
	differenceColumns("predicted cast", "how the light looks in this camera, the intended cast in it",
		func(l *line) *figure.Difference { return l.Gives.Cast }, func(l *line) string { return cmp.Or(l.Gives.Problem, "not known") }),
	differenceColumns("off aim", "what of it was not intended",
		func(l *line) *figure.Difference { return l.Gives.OffAim },
		func(l *line) string { return cmp.Or(l.Gives.Problem, l.Meant.Problem, "not known") }),
	[]Column{{"reference camera", "that the others are matched to", Typed, func(l *line) string { return l.Gives.ReferenceCamera },
		because("the set-up has none")}},
	differenceColumns("off reference camera", "its picture against that of the reference camera in the same take",
		func(l *line) *figure.Difference { return l.Gives.OffReference }, func(l *line) string {
			if l.Gives.ReferenceCamera != "" && l.Gives.ReferenceCamera == l.Find.Camera {
				return "it is the reference camera"
			}
			return "the reference camera has no white that is known in this take"
		}),
	[]Column{
		{"prediction rests on", "the label of the setting, or cards", Words, func(l *line) string {
			return strings.Trim(strings.Join(append([]string{l.Gives.RestsOn}, l.Gives.Caveats...), "; "), "; ")
		}, func(l *line) string { return cmp.Or(l.Gives.Problem, "not known") }},
		{"cards of a later day", "what they say; they are counted in nowhere; only where there are some", Words,
			func(l *line) string { return l.Gives.LaterCards }, nil},
		{"chart clip", "of this camera and body in the set-up", Typed, func(l *line) string { return l.Gives.ChartClip }, func(l *line) string {
			if !l.Gives.ChartRecord.IsZero() {
				return "the chart has no clip name"
			}
			return "this camera shot no chart in the set-up"
		}},
	},
)

// differenceColumns are three columns of one difference.
func differenceColumns(name, about string, of func(*line) *figure.Difference, empty func(*line) string) []Column {
	part := func(unit, more string, value func(*figure.Difference) *float64) Column {
		return Column{name + " (" + unit + ")", about + more, Number, func(l *line) string {
			if d := of(l); d != nil {
				return plain(value(d))
			}
			return ""
		}, func(l *line) string {
			if of(l) != nil {
				return "coloured, no CCT"
			}
			return empty(l)
		}}
	}
	return []Column{
		part("mired", "; + warmer", func(d *figure.Difference) *float64 { return d.Mired }),
		part("Duv", "; + greener", func(d *figure.Difference) *float64 { return d.Duv }),
		part("steps", "; steps of 0.0011 u'v' in the picture", func(d *figure.Difference) *float64 { return d.Steps }),
	}
}

// StateNameColumn is the column that holds the whole name of the state, once.
const StateNameColumn = "state name"

var originColumns = []Column{
	{"production", "its title", Typed, func(l *line) string { return l.head.Production.Title }, because("it has no title")},
	{"clip record", "id", Typed, func(l *line) string { return l.Find.ClipRecord.String() }, nil},
	{"take record", "id", Typed, func(l *line) string { return idText(l.take().Record) }, noTake},
	{"state", "of the log that the row was made from: the digest of its edits", Typed, func(l *line) string { return l.head.State.Digest },
		nil},
	{StateNameColumn, "the whole name of that state, from which the table is made again; only in the first row of a CSV", Typed,
		func(l *line) string {
			if !l.first {
				return ""
			}
			return l.head.State.Name
		}, nil},
	{"program", "that wrote the row", Typed, func(l *line) string { return l.head.Program }, nil},
}

func (l *line) lights() string {
	parts := make([]string, len(l.There.Lights))
	for i, light := range l.There.Lights {
		parts[i] = light.words()
	}
	return strings.Join(parts, "; ")
}

// words says a light in one line: "window (key) 5400 K, Duv +0.0031, 2 mired
// cooler, 30 min before".
func (l Light) words() string {
	out := l.Name + " (" + l.Role + ")"
	if !l.On {
		out += " off"
	}
	switch {
	case l.Color != nil:
		out += " " + l.Color.Words
	case l.Problem != "":
		out += " " + l.Problem
	}
	switch {
	case l.Cast == nil:
	case l.Cast.Mired != nil:
		out += ", " + l.Cast.Words
	case l.Cast.Steps != nil: // the colour said already that it has no CCT
		out += ", " + plain(l.Cast.Steps) + " steps away"
	}
	if l.When != "" {
		out += ", " + l.When
	}
	return out
}
