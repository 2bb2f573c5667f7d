package rebuild

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/setup"
)

// ErrNoModel is wrapped where a set-up names no other that it must match, and none was asked for.
var ErrNoModel = errors.New("the set-up names none that it must match: ask for one")

// SetUpsApart is how a set-up that was built again lies from its model, the greatest first.
type SetUpsApart struct {
	Here  ApartSide `json:"here"`
	Model ApartSide `json:"model"`
	// Begun says that something was read here; until then nothing is told.
	Begun bool       `json:"begun"`
	Words string     `json:"words"` // "3 things are off, 2 differ"
	Rows  []ApartRow `json:"rows"`
	Same  int        `json:"same"` // how many things are the same, and not listed
}

// ApartSide is one of the set-ups that are compared.
type ApartSide struct {
	SetUp    logbook.ID `json:"setUp"`
	Name     string     `json:"name"`
	DayWords string     `json:"dayWords,omitempty"`
	Take     logbook.ID `json:"take,omitzero"`
	AsOf     string     `json:"asOf"`
}

func (s *side) told() ApartSide {
	return ApartSide{SetUp: s.View().ID, Name: s.name(), DayWords: rigging.DayWords(s.Book(), s.Day()), Take: s.take.ID, AsOf: s.asOf()}
}

// Compare says how a set-up lies from another, both as they were at the takes asked for. Without a
// model it is what the set-up must match. The set-up itself, without a take, is meant as it is now,
// or was when people left it. Errors wrap logbook.ErrNoRecord or ErrNoModel.
func Compare(b *logbook.Book, here, model Query, now logbook.Millis) (SetUpsApart, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", here.SetUp)
	if err != nil {
		return SetUpsApart{}, err
	}
	if model.SetUp.IsZero() {
		rule := view.Value("mustMatch")
		id, ok := rule.Member("setUp").ID()
		if !ok {
			return SetUpsApart{}, ErrNoModel
		}
		model.SetUp = b.Resolve(id)
		if take, ok := rule.Member("take").ID(); ok && model.Take.IsZero() {
			model.Take = b.Resolve(take)
		}
	}
	r := setup.NewReader(b)
	h, err := sideOf(r, here, here.Take.IsZero(), now)
	if err != nil {
		return SetUpsApart{}, err
	}
	m, err := sideOf(r, model, false, now)
	if err != nil {
		return SetUpsApart{}, err
	}
	return apart(h, m), nil
}

func apart(here, model *side) SetUpsApart {
	out := SetUpsApart{Here: here.told(), Model: model.told(), Rows: []ApartRow{}, Begun: here.begun()}
	if !out.Begun {
		out.Words = "nothing was read here yet: what differs is told from the first reading on"
		return out
	}
	rows := rowsOf(here, model, true)
	sortRows(rows)
	counts := map[string]int{}
	for _, r := range rows {
		if counts[r.Verdict]++; r.Verdict != same {
			out.Rows = append(out.Rows, r)
		}
	}
	out.Same = counts[same]
	out.Words = fmt.Sprintf("%d off, %d typed otherwise, %d on one side only, %d not known, %d inside their limits, %d the same",
		counts[off], counts[differs], counts[oneSide], counts[cantTell]+counts[notKnown], counts[inside], counts[same])
	return out
}

// begun reports whether something was read in the set-up up to its moment.
func (s *side) begun() bool {
	return slices.ContainsFunc(s.Readings(), func(m *lighting.Reading) bool { return m.TakenAt <= s.at })
}

// rowsOf compares all of two set-ups, what is the same too.
func rowsOf(here, model *side, byRole bool) (rows []ApartRow) {
	rows = append(rows, whiteRows(here, model)...)
	for _, p := range pairsOf(here.lights, model.lights, byRole) {
		rows = append(rows, here.lightRows(p)...)
	}
	for _, p := range cameraPairs(here.cameras, model.cameras) {
		rows = append(rows, here.cameraRows(p)...)
	}
	return rows
}

func whiteRows(here, model *side) []ApartRow {
	ours, theirs := here.period.Whites(), model.period.Whites()
	const of = "white"
	if len(ours) == 0 || len(theirs) == 0 {
		return []ApartRow{unknown(of, "kelvin", whiteWords(ours), whiteWords(theirs), "no white was chosen on one side")}
	}
	possible := setup.WhitesApart(ours, theirs)
	if len(possible) == 0 {
		return []ApartRow{unknown(of, "kelvin", whiteWords(ours), whiteWords(theirs), "the colour of a white is not known")}
	}
	sure := fmt.Sprintf("here %s; model %s", ours[0].Origin.Confidence, theirs[0].Origin.Confidence)
	rows := ofColour(of, ours[0].Color, theirs[0].Color, possible, here.Limits(), sure, []logbook.ID{ours[0].White, theirs[0].White})
	return append(rows, typed(of, "intended cast", castWords(ours[0]), castWords(theirs[0]), ours[0].White, theirs[0].White))
}

func whiteWords(whites []setup.White) string {
	if len(whites) == 0 {
		return "none"
	}
	return whites[0].Words
}

func castWords(w setup.White) string {
	c := w.IntendedCast
	if c.Mired == 0 && c.Duv == 0 {
		return "none"
	}
	words := strings.TrimSpace(fmt.Sprintf("%s %+g mired", c.Name, c.Mired))
	if c.Duv != 0 {
		words += fmt.Sprintf(", Duv %+g", c.Duv)
	}
	return words
}

// lightRows compares a light with that of the model.
func (s *side) lightRows(p pair) (rows []ApartRow) {
	of := p.name()
	switch {
	case p.here == nil:
		return []ApartRow{missing(of, "light", "not here", p.model.Rigged.Words, p.model.Rigged.Light)}
	case p.model == nil:
		return []ApartRow{missing(of, "light", p.here.Rigged.Words, "not there", p.here.Rigged.Light)}
	}
	h, m := &p.here.Rigged, &p.model.Rigged
	rows = append(rows, s.measuredRows(of, h, m)...)
	rows = append(rows, ofLevel(of, *p.here, *p.model)...)
	all := []said{{"lit", yesNo(h.On), yesNo(m.On)}, {"lamp", lampName(h), lampName(m)}, {"gels", gelNames(h), gelNames(m)},
		{"position", h.Position, m.Position}}
	if h.Lamp != nil && m.Lamp != nil { // a window has no dials
		all = append(all, said{"dial", valueWords(h.DialKelvin, " K"), valueWords(m.DialKelvin, " K")},
			said{"green–magenta dial", valueWords(h.DialGreenMagenta, ""), valueWords(m.DialGreenMagenta, "")},
			said{"level dial", valueWords(h.LevelPercent, " %"), valueWords(m.LevelPercent, " %")})
	}
	return append(rows, typedRows(of, all, h.Light, m.Light)...)
}

// said is what people typed of one thing on both sides.
type said struct{ what, here, model string }

// typedRows compares all that anybody said on one side at least.
func typedRows(of string, all []said, records ...logbook.ID) (rows []ApartRow) {
	for _, t := range all {
		if t.here != "" || t.model != "" {
			rows = append(rows, typed(of, t.what, t.here, t.model, records...))
		}
	}
	return rows
}

// missing is a row of what only one side has.
func missing(of, what, here, model string, record logbook.ID) ApartRow {
	return ApartRow{Of: of, What: what, Here: here, Model: model, Words: "nothing to compare it with", Verdict: oneSide, Sure: "as typed",
		Records: []logbook.ID{record}}
}

func yesNo(b bool) string {
	if b {
		return "on"
	}
	return "off"
}

func lampName(l *rigging.RiggedLight) string {
	if l.Lamp == nil {
		return "none"
	}
	return l.Lamp.Name
}

func gelNames(l *rigging.RiggedLight) string {
	if words := l.GelWords(); words != "" {
		return words
	}
	return "none"
}

func valueWords(v *rigging.RiggedValue, unit string) string {
	if v == nil {
		return ""
	}
	return v.InWords(unit)
}

// measuredRows compares what was read of a light on both sides.
func (s *side) measuredRows(of string, here, model *rigging.RiggedLight) []ApartRow {
	if here.Reading == nil || model.Reading == nil {
		why := "in the model: " + model.Problem
		if here.Reading == nil {
			why = "here: " + here.Problem
		}
		return []ApartRow{unknown(of, "kelvin", readWords(here), readWords(model), why)}
	}
	light, _ := s.Book().RecordOf(kinds.Light, here.Light)
	limits := s.RoleLimits(light)
	d, sure := s.Against(here.Spoken, model.Spoken, limits)
	sure = "here " + here.Reading.When + ", model " + model.Reading.When + "; " + sure
	return ofColour(of, here.Reading.Color, model.Reading.Color, []figure.Difference{d}, limits, sure,
		[]logbook.ID{here.Reading.Reading, model.Reading.Reading})
}

func readWords(l *rigging.RiggedLight) string {
	if l.Reading == nil {
		return "not known"
	}
	return l.Reading.Color.Words
}

// cameraRows compares a camera with that of the model.
func (s *side) cameraRows(p cameraPair) (rows []ApartRow) {
	switch {
	case p.here == nil:
		return []ApartRow{missing("camera "+p.model.Letter, "set to", "not here", cameraWords(p.model), p.model.Camera)}
	case p.model == nil:
		return []ApartRow{missing("camera "+p.here.Letter, "set to", cameraWords(p.here), "not there", p.here.Camera)}
	}
	h, m := p.here, p.model
	if h.Setting == nil && m.Setting == nil {
		return nil
	}
	of := "camera " + h.Letter
	rows = append(rows, s.setRow(of, h, m))
	if h.Setting == nil || m.Setting == nil {
		return rows
	}
	return append(rows, typedRows(of, []said{{"body", h.BodyLabel, m.BodyLabel}, {"lens", h.Lens, m.Lens}, {"filters", h.Filters, m.Filters},
		{"recording mode", h.Mode, m.Mode}, {"shutter", h.Shutter, m.Shutter}, {"sensitivity", string(h.Sensitivity), string(m.Sensitivity)},
		{"sensor rate", string(h.SensorRate), string(m.SensorRate)}}, h.Camera)...)
}

func cameraWords(c *SheetCamera) string {
	if c.Setting == nil {
		return orNotSaid(c.Problem)
	}
	return c.Setting.Words
}

// setRow compares what two cameras were set to: as typed, and how far the pictures lie apart.
func (s *side) setRow(of string, h, m *SheetCamera) ApartRow {
	if h.Setting == nil || m.Setting == nil {
		return unknown(of, "set to", cameraWords(h), cameraWords(m), "a setting is not known")
	}
	row := typed(of, "set to", h.Setting.Words, m.Setting.Words, h.Camera)
	for _, id := range []logbook.ID{h.Clip, m.Clip} {
		if !id.IsZero() {
			row.Records = append(row.Records, id)
		}
	}
	row.Sure = "here " + byWhat(h) + ", model " + byWhat(m)
	var possible []figure.Difference
	for _, x := range h.white.Possible {
		for _, y := range m.white.Possible {
			if x.Fits(y) {
				possible = append(possible, figure.PictureDifference(x.White, y.White, s.period.Reference))
			}
		}
	}
	if h.set.Key() == m.set.Key() && h.Body == m.Body && h.set.OnDial() {
		return row
	}
	if len(possible) == 0 {
		row.Verdict, row.Words = cantTell, "what a setting comes to is not known"
		return row
	}
	limits := s.Limits()
	j := judge(limits, possible)
	row.Words, row.Mired, row.Duv, row.Limit, row.Times = j.Words, j.Least.Mired, j.Least.Duv, limits.Words(), &j.times
	if j.Verdict == off || j.Verdict == cantTell {
		row.Verdict = j.Verdict
	}
	return row
}

func byWhat(c *SheetCamera) string {
	words := map[string]string{"readOff": "read off", "fromFile": "from the file", "carriedOver": "carried over"}[c.SettingsAre]
	if c.white.Learnt != nil {
		return words + ", by grey cards"
	}
	return words + ", by the label"
}
