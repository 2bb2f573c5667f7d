package rebuild

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// ApartRow is one thing in which two set-ups may differ.
type ApartRow struct {
	Of    string `json:"of"`   // "key", "camera A", "white"
	What  string `json:"what"` // "kelvin", "green–magenta", "level", "set to", "gels" …
	Here  string `json:"here"` // with units
	Model string `json:"model"`
	// Words say how here lies from the model: of lights and whites as a light, of cameras as their
	// picture. The numbers that there are: mired + warmer, Duv + greener, stops + more.
	Words string   `json:"words"`
	Mired *float64 `json:"mired,omitempty"`
	Duv   *float64 `json:"duv,omitempty"`
	Stops *float64 `json:"stops,omitempty"`
	Limit string   `json:"limit,omitempty"` // absent: compared as typed
	Times *float64 `json:"times,omitempty"` // of the limit
	// Verdict is off (beyond the limit), differs (typed otherwise), one side only, can't tell, not
	// known, inside or same.
	Verdict string       `json:"verdict"`
	Sure    string       `json:"sure"` // what it rests on, and how finely that tells
	Records []logbook.ID `json:"records"`
}

// The verdicts, in the order in which rows stand.
const (
	off      = "off"
	differs  = "differs"
	oneSide  = "one side only"
	cantTell = "can't tell"
	notKnown = "not known"
	inside   = "inside"
	same     = "same"
)

var verdicts = []string{off, differs, oneSide, cantTell, notKnown, inside, same}

// sortRows puts the greatest difference first, in units of its limit.
func sortRows(rows []ApartRow) { slices.SortStableFunc(rows, byGreatest) }

func byGreatest(x, y ApartRow) int {
	return cmp.Or(cmp.Compare(slices.Index(verdicts, x.Verdict), slices.Index(verdicts, y.Verdict)), cmp.Compare(timesOf(y), timesOf(x)))
}

func timesOf(r ApartRow) float64 {
	if r.Times == nil {
		return 0
	}
	return *r.Times
}

// typed compares what people typed by equality: a dial that moved inside a tolerance was still
// moved by somebody.
func typed(of, what, here, model string, records ...logbook.ID) ApartRow {
	r := ApartRow{Of: of, What: what, Here: orNotSaid(here), Model: orNotSaid(model), Verdict: same, Sure: "as typed", Records: records}
	switch {
	case here == model:
		r.Words = "the same"
	case here == "" || model == "":
		r.Verdict, r.Words = notKnown, "said on one side only"
	default:
		r.Verdict, r.Words = differs, "not the same"
	}
	return r
}

func orNotSaid(text string) string {
	if text == "" {
		return "not said"
	}
	return text
}

// unknown is what cannot be compared, and why.
func unknown(of, what, here, model, why string) ApartRow {
	return ApartRow{Of: of, What: what, Here: here, Model: model, Verdict: notKnown, Words: why, Sure: "nothing to compare",
		Records: []logbook.ID{}}
}

// A colour is what is shown of one on one side, for the rows of kelvin and of green–magenta.
type colour struct{ kelvin, duv string }

func colourOf(c *figure.Chromaticity) colour {
	if c == nil {
		return colour{"not known", "not known"}
	}
	if c.CCTKelvin == nil || c.Duv == nil {
		return colour{c.Words, c.Words}
	}
	return colour{fmt.Sprintf("%.0f K", *c.CCTKelvin), fmt.Sprintf("Duv %+.4f", *c.Duv)}
}

// ofColour makes the rows of a colour that is known on both sides: kelvin, and green–magenta
// apart. Where one of them has no CCT, the steps alone say how far they are.
func ofColour(
	of string, here, model *figure.Chromaticity, possible []figure.Difference, limits figure.Limits, sure string, records []logbook.ID,
) []ApartRow {
	h, m := colourOf(here), colourOf(model)
	whole := judge(limits, possible)
	bySteps := fmt.Sprintf("%g steps (%s)", limits.Steps, limits.From)
	row := ApartRow{Of: of, Sure: sure, Records: records}
	if possible[0].Mired == nil || possible[0].Duv == nil {
		row.What, row.Here, row.Model, row.Limit = "colour", h.kelvin, m.kelvin, bySteps
		return []ApartRow{row.judged(whole)}
	}
	zero := new(float64)
	var kelvin, green []figure.Difference
	for _, d := range possible {
		if d.Mired != nil && d.Duv != nil {
			kelvin = append(kelvin, figure.Difference{Mired: d.Mired, Duv: zero})
			green = append(green, figure.Difference{Mired: zero, Duv: d.Duv})
		}
	}
	k, g := row, row
	k.What, k.Here, k.Model, k.Limit = "kelvin", h.kelvin, m.kelvin, fmt.Sprintf("%g mired (%s)", limits.Mired, limits.From)
	g.What, g.Here, g.Model = "green–magenta", h.duv, m.duv
	g.Limit = fmt.Sprintf("Duv +%g -%g (%s)", limits.DuvGreen, limits.DuvMagenta, limits.From)
	k, g = k.judged(judge(limits, kelvin)), g.judged(judge(limits, green))
	k.Duv, g.Mired = nil, nil
	if beyond := whole.Verdict == off || whole.Verdict == cantTell; beyond && k.calm() && g.calm() {
		more := &k // in the picture the two together are beyond
		if timesOf(g) > timesOf(k) {
			more = &g
		}
		more.Verdict, more.Times, more.Limit = whole.Verdict, &whole.times, more.Limit+"; with the other part "+bySteps
	}
	return []ApartRow{k, g}
}

// judged puts a verdict on one part of a difference into a row.
func (r ApartRow) judged(p judgedPart) ApartRow {
	r.Words, r.Mired, r.Duv, r.Times, r.Verdict = p.Words, p.Least.Mired, p.Least.Duv, &p.times, p.Verdict
	return r
}

// calm reports whether a row is inside its limit.
func (r ApartRow) calm() bool { return r.Verdict == inside || r.Verdict == same }

// A judgedPart is a verdict on one part of a difference.
type judgedPart struct {
	figure.Judged
	Verdict string
	times   float64
}

// judge is the verdict of limits on possible differences, with how many times the limit it is.
func judge(limits figure.Limits, possible []figure.Difference) judgedPart {
	j := limits.Judge(possible)
	p := judgedPart{Judged: j, Verdict: figure.VerdictWords[j.Verdict], times: figure.RoundTo(limits.TimesLimit(j.Least), 1)}
	if p.Verdict == inside && p.Words == "no difference" {
		p.Verdict = same
	}
	return p
}

// ofLevel is the row of how much a light gives against the key.
func ofLevel(of string, here, model SheetLight) []ApartRow {
	h, m := levelWords(here), levelWords(model)
	switch {
	case here.Level == nil && model.Level == nil && here.LevelProblem == "" && model.LevelProblem == "":
		return nil // it is the key, or off
	case here.Level == nil || model.Level == nil:
		return []ApartRow{unknown(of, "level", h, m, "not known on both sides")}
	}
	by := figure.RoundTo(model.Level.StopsUnder-here.Level.StopsUnder, figure.StopsDecimals)
	times := figure.RoundTo(math.Abs(by)/setup.SameStops, 1)
	row := ApartRow{Of: of, What: "level", Here: h, Model: m, Stops: &by, Times: &times,
		Limit: fmt.Sprintf("%g stop (a choice of this program)", setup.SameStops), Sure: "lux of each side by its own meter", Verdict: inside,
		Records: []logbook.ID{here.Level.Reading, here.Level.KeyReading, model.Level.Reading, model.Level.KeyReading}}
	if !strings.EqualFold(here.Level.Position, model.Level.Position) {
		row.Sure += "; at " + orNotSaid(here.Level.Position) + " here, at " + orNotSaid(model.Level.Position) + " in the model"
	}
	switch {
	case by == 0:
		row.Verdict, row.Words = same, "the same"
		return []ApartRow{row}
	case math.Abs(by) > setup.SameStops:
		row.Verdict = off
	}
	row.Words = stops(math.Abs(by)) + " more against " + here.Level.KeyName
	if by < 0 {
		row.Words = stops(-by) + " less against " + here.Level.KeyName
	}
	return []ApartRow{row}
}

func levelWords(l SheetLight) string {
	switch {
	case l.Level != nil:
		return l.Level.Words
	case l.LevelProblem != "":
		return l.LevelProblem
	}
	return "not said"
}
