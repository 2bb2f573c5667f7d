package colorlog

import (
	"cmp"
	"strconv"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// A column of the CSV form. Cells that hold words of people are typed.
type column struct {
	name  string
	typed bool
	cell  func(*line) string
}

// line is a row with what stands around it.
type line struct {
	*Row
	head *Head
}

var columns = concat(findColumns, setColumns, meantColumns, thereColumns, givesColumns, offColumns, originColumns)

func concat(groups ...[]column) (all []column) {
	for _, g := range groups {
		all = append(all, g...)
	}
	return all
}

func computed(name string, cell func(*line) string) column { return column{name, false, cell} }

func typed(name string, cell func(*line) string) column { return column{name, true, cell} }

var findColumns = []column{
	computed("day", func(l *line) string { return l.Find.DayNumber.String() }),
	computed("date", func(l *line) string { return l.Find.Date }),
	typed("unit", func(l *line) string { return l.Find.Unit }),
	typed("scene", func(l *line) string { return l.Find.Scene }),
	typed("set-up", func(l *line) string { return l.Find.SetUp }),
	typed("take", func(l *line) string { return l.take().Number.String() + l.take().Suffix }),
	computed("take kind", func(l *line) string { return l.kind() }),
	computed("take state", func(l *line) string { return l.take().State }),
	computed("wanted", func(l *line) string { return yes(l.take().Wanted) }),
	computed("series", func(l *line) string { return yes(l.take().Series) }),
	typed("camera", func(l *line) string { return l.Find.Camera }),
	typed("body", func(l *line) string { return l.Find.Body }),
	typed("clip name", func(l *line) string { return l.Find.ClipName }),
	computed("clip name from", func(l *line) string { return l.Find.NameFrom }),
	computed("part", func(l *line) string { return l.Find.Part.String() }),
	typed("card", func(l *line) string { return l.Find.Card }),
	computed("timecode start", func(l *line) string { return l.Find.Timecode.Start }),
	computed("timecode end", func(l *line) string { return l.Find.Timecode.End }),
	computed("timecode rate (frames/s)", func(l *line) string { return l.Find.Timecode.rate() }),
	computed("take begins at timecode", func(l *line) string { return l.take().BeginsAt }),
	computed("started (UTC)", func(l *line) string { return l.Find.StartedAt.Format(time.RFC3339) }),
	computed("rolled", func(l *line) string { return yes(l.Find.Rolled) }),
}

var setColumns = []column{
	computed("white mode", func(l *line) string { return l.Set.WhiteMode }),
	computed("kelvin set (K)", func(l *line) string { return l.Set.Kelvin.String() }),
	computed("tint set (units of the body)", func(l *line) string { return l.Set.Tint.String() }),
	computed("amber-blue set (units of the body)", func(l *line) string { return l.Set.AmberBlue.String() }),
	typed("preset", func(l *line) string { return l.Set.Preset }),
	computed("settings are", func(l *line) string { return l.Set.SettingsAre }),
	typed("changes while rolling", func(l *line) string { return strings.Join(l.Set.Changes, "; ") }),
	typed("recorded as", func(l *line) string { return l.Set.RecordingMode }),
	computed("white in the file", func(l *line) string { return l.Set.WhiteInFile }),
	computed("label white CCT (K)", func(l *line) string { return cct(l.Set.LabelWhite) }),
	computed("label white Duv", func(l *line) string { return duv(l.Set.LabelWhite) }),
}

var meantColumns = []column{
	typed("white", func(l *line) string { return cmp.Or(l.Meant.Contested, l.Meant.Words) }),
	computed("white from", func(l *line) string { return l.Meant.From }),
	typed("white since", func(l *line) string { return l.Meant.Since }),
	computed("white CCT (K)", func(l *line) string { return cct(l.Meant.Color) }),
	computed("white Duv", func(l *line) string { return duv(l.Meant.Color) }),
	computed("white known by", func(l *line) string { return l.Meant.Confidence }),
	typed("intended cast", func(l *line) string { return l.Meant.IntendedCast.Name }),
	computed("intended cast (mired)", func(l *line) string { return plain(&l.Meant.IntendedCast.Mired) }),
	computed("intended cast (Duv)", func(l *line) string { return plain(&l.Meant.IntendedCast.Duv) }),
	computed("aim CCT (K)", func(l *line) string { return cct(l.Meant.Aim) }),
	computed("aim Duv", func(l *line) string { return duv(l.Meant.Aim) }),
	typed("decided by", func(l *line) string { return l.Meant.DecidedBy }),
	typed("white problem", func(l *line) string { return l.Meant.Problem }),
}

var thereColumns = []column{
	typed("reference reading", func(l *line) string { return l.There.ReferenceFrom }),
	computed("reference CCT (K)", func(l *line) string { return cct(l.There.Reference) }),
	computed("reference Duv", func(l *line) string { return duv(l.There.Reference) }),
	computed("reading age (min)", func(l *line) string { return plain(l.There.AgeMinutes) }),
	computed("illuminance (lx)", func(l *line) string { return plain(l.There.IlluminanceLux) }),
	computed("sky", func(l *line) string { return l.There.Sky }),
	typed("lights", func(l *line) string { return l.lights() }),
}

var givesColumns = []column{
	computed("predicted cast (mired)", func(l *line) string { return mired(l.Gives.Cast) }),
	computed("predicted cast (Duv)", func(l *line) string { return duvOf(l.Gives.Cast) }),
	computed("predicted cast (steps)", func(l *line) string { return steps(l.Gives.Cast) }),
	computed("off aim (mired)", func(l *line) string { return mired(l.Gives.OffAim) }),
	computed("off aim (Duv)", func(l *line) string { return duvOf(l.Gives.OffAim) }),
	computed("off aim (steps)", func(l *line) string { return steps(l.Gives.OffAim) }),
	typed("reference camera", func(l *line) string { return l.Gives.ReferenceCamera }),
	computed("off reference camera (mired)", func(l *line) string { return mired(l.Gives.OffReference) }),
	computed("off reference camera (Duv)", func(l *line) string { return duvOf(l.Gives.OffReference) }),
	computed("off reference camera (steps)", func(l *line) string { return steps(l.Gives.OffReference) }),
	typed("prediction rests on", func(l *line) string {
		return strings.Join(append([]string{l.Gives.RestsOn}, l.Gives.Caveats...), "; ")
	}),
	typed("chart clip", func(l *line) string { return l.Gives.ChartClip }),
	typed("prediction problem", func(l *line) string { return l.Gives.Problem }),
}

var offColumns = []column{
	typed("worst deviation", func(l *line) string { return l.Off.Worst }),
	computed("deviations", func(l *line) string { return strconv.Itoa(l.Off.Count) }),
	computed("accepted", func(l *line) string { return strconv.Itoa(l.Off.Accepted) }),
	typed("accepted because", func(l *line) string { return l.reasons() }),
	typed("conflicts", func(l *line) string { return l.conflicts() }),
	typed("twins", func(l *line) string { return strings.Join(l.Off.Twins, "; ") }),
	typed("missing", func(l *line) string { return strings.Join(l.Off.Missing, "; ") }),
	typed("notes", func(l *line) string { return l.notes() }),
	typed("after closing", func(l *line) string { return l.afterClosing() }),
}

var originColumns = []column{
	computed("limits used", func(l *line) string { return l.limits() }),
	computed("clip record", func(l *line) string { return l.Find.ClipRecord.String() }),
	computed("take record", func(l *line) string { return idText(l.take().Record) }),
	computed("log identity", func(l *line) string { return l.head.Log.Identity }),
	computed("log sequence", func(l *line) string { return strconv.FormatUint(uint64(l.head.Log.Sequence), 10) }),
	typed("program", func(l *line) string { return l.head.Program }),
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
		parts[i] = c.On + " " + c.Field + ": " + strings.Join(c.Values, " or ")
	}
	return strings.Join(parts, "; ")
}

func (l *line) notes() string {
	parts := make([]string, len(l.Off.Notes))
	for i, n := range l.Off.Notes {
		parts[i] = n.By + ": " + n.Text
	}
	return strings.Join(parts, "; ")
}

func (l *line) afterClosing() string {
	parts := make([]string, len(l.Off.AfterClosing))
	for i, late := range l.Off.AfterClosing {
		parts[i] = late.words()
	}
	return strings.Join(parts, "; ")
}

func (l *line) limits() string {
	parts := make([]string, len(l.Limits))
	for i, m := range l.Limits {
		parts[i] = m.Role + " " + plain(&m.Mired) + " mired, Duv +" + plain(&m.DuvGreen) + " −" + plain(&m.DuvMagenta) +
			", " + plain(&m.Steps) + " steps (" + m.From + ")"
	}
	return strings.Join(parts, "; ")
}

func (t Timecode) rate() string {
	if t.Drop {
		return t.Rate + " drop"
	}
	return t.Rate
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func plain(f *float64) string {
	if f == nil {
		return ""
	}
	return strconv.FormatFloat(*f, 'f', -1, 64)
}

func cct(c *figure.Chromaticity) string {
	switch {
	case c == nil:
		return ""
	case c.CCTKelvin == nil:
		return c.Words
	}
	return plain(c.CCTKelvin)
}

func duv(c *figure.Chromaticity) string {
	if c == nil {
		return ""
	}
	return plain(c.Duv)
}

func mired(d *figure.Difference) string {
	if d == nil {
		return ""
	}
	return plain(d.Mired)
}

func duvOf(d *figure.Difference) string {
	if d == nil {
		return ""
	}
	return plain(d.Duv)
}

func steps(d *figure.Difference) string {
	if d == nil {
		return ""
	}
	return plain(d.Steps)
}

func idText(id logbook.ID) string {
	if id.IsZero() {
		return ""
	}
	return id.String()
}
