package colorlog

import (
	"strconv"
	"strings"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
)

var offColumns = []Column{
	{"worst deviation", "that nobody accepted; empty: there is none", Words, func(l *line) string { return l.Off.Worst }, nil},
	{"deviations", "how many list this row, accepted ones too", Whole, func(l *line) string { return strconv.Itoa(l.Off.Count) }, nil},
	{"accepted", "how many of them are deliberate", Whole, func(l *line) string { return strconv.Itoa(l.Off.Accepted) }, nil},
	{"accepted because", "reason and who said so; empty: none is accepted", Words, func(l *line) string { return l.reasons() }, nil},
	{"conflicts", "fields that people set apart and nobody settled; empty: there is none", Words,
		func(l *line) string { return l.conflicts() }, nil},
	{"twins", "what may be the same thing logged twice; empty: nothing is", Words,
		func(l *line) string { return strings.Join(l.Off.Twins, "; ") }, nil},
	{"missing", "data that is not there; empty: nothing is missing", Words,
		func(l *line) string { return strings.Join(l.Off.Missing, "; ") }, nil},
	{"notes", "to the set, to post or to nobody, with who wrote them and what was answered; empty: there is none", Words,
		func(l *line) string { return l.notes() }, nil},
	{"open notes", "how many of them wait for an answer", Whole, func(l *line) string { return strconv.Itoa(l.Off.Open()) }, nil},
	{"after closing", "what the row rests on that was entered after its day was closed; empty: nothing was", Words,
		func(l *line) string { return l.afterClosing() }, nil},
}

var correctionColumns = append([]Column{
	{"correction to intent", "what to do to the footage so that the light looks as intended, in words", Words, func(l *line) string {
		if l.intent().Takes == "" {
			return ""
		}
		return l.intent().InWords()
	}, func(l *line) string { return l.Correction.Problem }},
	{"correction takes", "the form that the footage takes: kelvin (a white that is free to change), slope (linear), offset (log), " +
		"stops (a log of which one stop is not known in codes) or code ratio (display-encoded, baked)", Words,
		func(l *line) string { return Spoken(l.intent().Takes) }, func(l *line) string { return l.Correction.Problem }},
	{"correction rests on", "card in the clip, card on this setting, cards elsewhere, or label", Words,
		func(l *line) string { return l.Correction.Basis }, func(l *line) string { return l.Correction.Problem }},
	{"correction spread (mired)", "how far the cards lie apart, at least what the digits of one carry", Number,
		func(l *line) string { return plain(l.Correction.SpreadMired) }, noSpread},
	{"correction spread (Duv)", "the same, in Duv", Number, func(l *line) string { return plain(l.Correction.SpreadDuv) }, noSpread},
	{"correction for encoding", "transfer and primaries for which it was worked out", Words,
		func(l *line) string { return wordsOfEncoding(l.Correction.Encoding) }, func(l *line) string { return l.Correction.Problem }},
	{"enter kelvin (K)", "only where the correction takes kelvin", Number, func(l *line) string { return plain(l.enter().Kelvin) }, nil},
	{"enter tint (units of the body)", "only where the correction takes kelvin", Number,
		func(l *line) string { return plain(l.enter().Tint) }, nil},
	{"enter amber-blue (units of the body)", "only where the correction takes kelvin and the body has the axis", Number,
		func(l *line) string { return plain(l.enter().AmberBlue) }, nil},
}, slicesOf(
	rgbColumns("slope", "factor of the linear channel; only where the correction takes slope", func(c cameras.Correction) *figure.RGB {
		return only(c, "slope", c.Gain)
	}),
	rgbColumns("offset", "added to the signal of the channel (0 to 1); only where the correction takes offset",
		func(c cameras.Correction) *figure.RGB {
			return only(c, "offset", c.Offset)
		}),
	rgbColumns("offset in codes", "added to the code of the channel; only where the correction takes offset and the bits are known",
		func(c cameras.Correction) *figure.RGB { return only(c, "offset", c.CodeOffset) }),
	rgbColumns("stops", "offset of the channel in stops of the log; only where the correction takes stops",
		func(c cameras.Correction) *figure.RGB {
			return only(c, "stops", c.Stops)
		}),
	rgbColumns("code ratio", "target over code of the channel, exact at the level; only where the correction takes code ratio",
		func(c cameras.Correction) *figure.RGB { return only(c, "codeRatio", c.Ratio) }),
	rgbColumns("level", "signal of the grey (0 to 1) that it was worked out from; only where there was one",
		func(c cameras.Correction) *figure.RGB { return c.Level }),
	[]Column{
		{"left two stops below (steps)", "what the code ratio leaves of a grey two stops below; only where the correction takes code ratio",
			Number,
			func(l *line) string { return plain(l.intent().LeftBelow) }, nil},
		{"colours clipped highlights", "yes: a channel rises by more than 10 %", YesOrNo,
			func(l *line) string { return yes(l.intent().LiftsHighlights) }, nil},
		{"correction caveats", "what it assumes; only where it assumes something", Words,
			func(l *line) string { return strings.Join(l.Correction.Caveats, "; ") }, nil},
	},
)...)

func only(c cameras.Correction, takes string, v *figure.RGB) *figure.RGB {
	if c.Takes != takes {
		return nil
	}
	return v
}

func slicesOf(groups ...[]Column) (all []Column) {
	for _, g := range groups {
		all = append(all, g...)
	}
	return all
}

// rgbColumns are three columns, one a channel.
func rgbColumns(name, about string, of func(cameras.Correction) *figure.RGB) (three []Column) {
	for _, channel := range []struct {
		letter string
		value  func(*figure.RGB) float64
	}{
		{"R", func(v *figure.RGB) float64 { return v.R }}, {"G", func(v *figure.RGB) float64 { return v.G }},
		{"B", func(v *figure.RGB) float64 { return v.B }},
	} {
		three = append(three, Column{name + " " + channel.letter, about, Number, func(l *line) string {
			v := of(l.intent())
			if v == nil {
				return ""
			}
			f := channel.value(v)
			return plain(&f)
		}, nil})
	}
	return three
}

func (l *line) intent() cameras.Correction {
	if l.Correction.ToIntent == nil {
		return cameras.Correction{}
	}
	return *l.Correction.ToIntent
}

func (l *line) enter() cameras.Dialled {
	if c := l.intent(); c.Takes == "kelvin" && c.Setting != nil {
		return *c.Setting
	}
	return cameras.Dialled{}
}

func noSpread(l *line) string {
	switch l.Correction.Basis {
	case "":
		return l.Correction.Problem
	case "label":
		return "it rests on the label alone"
	}
	return "the light of the card is not known, or the card says too little"
}

func (l *line) reasons() string {
	var parts []string
	for _, f := range l.Off.Findings {
		if f.AcceptedBy != "" || f.Reason != "" {
			parts = append(parts, f.Words+": "+f.Reason+" ("+f.AcceptedBy+")")
		}
	}
	return strings.Join(parts, "; ")
}

func (l *line) conflicts() string {
	parts := make([]string, len(l.Off.Conflicts))
	for i, c := range l.Off.Conflicts {
		parts[i] = Spoken(c.On) + " " + Spoken(c.Field) + ": " + strings.Join(c.Values, " or ")
	}
	return strings.Join(parts, "; ")
}

func (l *line) notes() string {
	parts := make([]string, len(l.Off.Notes))
	for i, n := range l.Off.Notes {
		parts[i] = n.Words()
	}
	return strings.Join(parts, "; ")
}

func (l *line) afterClosing() string {
	parts := make([]string, len(l.Off.AfterClosing))
	for i, late := range l.Off.AfterClosing {
		parts[i] = late.Words()
	}
	return strings.Join(parts, "; ")
}
