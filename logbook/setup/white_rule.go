package setup

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// resolver turns the rule of a white into a colour, from the records that the white rests
// on. A white lists them; one of an older app is followed through the log as it stood when
// it was entered. Either way what comes in later moves no chosen white.
type resolver struct {
	book     *logbook.Book
	seen     map[logbook.ID]bool
	memo     lighting.Memo
	words    string
	origin   figure.Origin
	outlived string // what it rests on that counts no more
	gone     logbook.ID
	possible []cameras.Possible
}

func newResolver(b *logbook.Book) *resolver {
	return &resolver{book: b, seen: map[logbook.ID]bool{}, memo: lighting.Memo{}}
}

func (r *resolver) readingsOf(setUp logbook.ID) []*lighting.Reading {
	return r.memo.ReadingsOf(r.book, setUp)
}

// A choice is the rule of a white with what it was made in.
type choice struct {
	rule    logbook.Value
	setUp   logbook.ID
	at      logbook.Millis // when it was made
	entered logbook.Millis // what was entered later does not count
}

func choiceOf(white logbook.View) choice {
	return choice{white.Value("from"), white.Ref("setUp"), white.CreatedAt(), white.CreatedAt()}
}

func (c choice) as() string {
	as, _ := c.rule.Member("as").Text()
	return as
}

func (r *resolver) resolve(white logbook.View) (colorimetry.XY, error) {
	if r.seen[white.ID] {
		return colorimetry.XY{}, fmt.Errorf("%w: the whites of the set-ups name each other in a circle", figure.ErrUnknown)
	}
	r.seen[white.ID] = true
	c := choiceOf(white)
	r.words = r.ruleWords(c)
	inputs, listed := restsOn(white)
	if !listed {
		var err error
		if inputs, err = r.lookUp(c); err != nil {
			return colorimetry.XY{}, err
		}
	}
	if err := r.allHere(inputs); err != nil {
		return colorimetry.XY{}, err
	}
	xy, err := r.from(c, inputs)
	if !listed && followsTheLog(c.as()) {
		r.caveat("worked out, not recorded: what it rests on is not listed")
	}
	return xy, err
}

// from resolves a rule by exactly the records given.
func (r *resolver) from(c choice, inputs []input) (colorimetry.XY, error) {
	for _, in := range inputs {
		r.noteGone(in.record)
	}
	switch as := c.as(); as {
	case "readings":
		return r.readings(c, inputs)
	case "nominal":
		return r.nominal(c)
	case "mix":
		return r.mixOf(c, inputs)
	case "compromise":
		return r.compromise(c, inputs)
	case "cameraSetting":
		return r.cameraSetting(c, inputs)
	case "customFromCard":
		return r.customFromCard(c, inputs)
	case "sameAs":
		return r.sameAs(inputs)
	default:
		return colorimetry.XY{}, fmt.Errorf("%w: a white from %q is not a form this version knows", figure.ErrUnknown, logbook.Shorten(as))
	}
}

// ruleWords names a rule before anything is known of what it rests on.
func (r *resolver) ruleWords(c choice) string {
	switch c.as() {
	case "nominal":
		return fmt.Sprintf("nominal %s K", c.rule.Member("kelvin"))
	case "mix":
		if position, _ := c.rule.Member("position").Text(); position != "" {
			return "the mix of all lights that are on at " + position
		}
		return "the mix of all lights that are on"
	case "compromise":
		return "compromise between the lights"
	case "cameraSetting":
		camera, set := r.settingOf(c)
		return fmt.Sprintf("camera %s is at %s", camera.Text("letter"), set.InWords(logbook.View{}))
	case "customFromCard":
		return "custom white from a card"
	case "sameAs":
		id, _ := c.rule.Member("setUp").ID()
		other, _ := r.book.RecordOf(kinds.SetUp, id)
		return "same as set-up " + lighting.SetUpName(r.book, other)
	}
	return ""
}

// uses notes a reading as used.
func (r *resolver) uses(m *lighting.Reading, at logbook.Millis) { m.NoteIn(&r.origin, at) }

func (r *resolver) caveat(words string) { r.origin.Caveats = append(r.origin.Caveats, words) }

// readingsAmong are the inputs that are readings, in their order.
func (r *resolver) readingsAmong(inputs []input) (all []weighed) {
	for _, in := range inputs {
		if v, ok := r.book.RecordOf(kinds.Reading, in.record); ok {
			weight, given := in.weight.Float()
			all = append(all, weighed{lighting.Read(r.book, v), weight, given})
		}
	}
	return all
}

// A weighed is a reading with the weight that it counts with.
type weighed struct {
	*lighting.Reading
	weight float64
	given  bool // the weight
}

func (w weighed) colour() (*figure.Chromaticity, error) {
	if w.Color == nil {
		return nil, fmt.Errorf("%w: reading %s: %s", figure.ErrUnknown, w.Reading.Reading, w.Problem)
	}
	return w.Color, nil
}

func (r *resolver) readings(c choice, inputs []input) (colorimetry.XY, error) {
	var lit []colorimetry.Lit
	all := r.readingsAmong(inputs)
	for _, m := range all {
		color, err := m.colour()
		if err != nil {
			return colorimetry.XY{}, err
		}
		if !m.given {
			m.weight = 1
		}
		r.uses(m.Reading, c.at)
		r.words = m.Name(r.book) + ", measured"
		lit = append(lit, colorimetry.Lit{Light: color.XY, Lux: colorimetry.Lux(m.weight)})
	}
	r.origin.Method, r.origin.Confidence = "one reading", "measured"
	if len(lit) > 1 {
		r.words = fmt.Sprintf("%d readings, weighted", len(lit))
		r.origin.Method = "readings added as tristimulus values by weight"
	}
	mixed, err := colorimetry.Mix(lit)
	return mixed.Light, err
}

// nominalLocus is what a kelvin without more means on the production.
func nominalLocus(b *logbook.Book) colorimetry.Locus {
	if p, ok := lighting.ProductionOf(b); ok && p.Text("nominalWhite") == "blackBody" {
		return colorimetry.BlackBody
	}
	return colorimetry.Blend
}

func (r *resolver) nominal(c choice) (colorimetry.XY, error) {
	kelvin, ok := c.rule.Member("kelvin").Float()
	if !ok {
		return colorimetry.XY{}, fmt.Errorf("%w: the nominal white has no kelvin", figure.ErrUnknown)
	}
	locus, name := nominalLocus(r.book), "the production's locus"
	switch text, _ := c.rule.Member("locus").Text(); text {
	case "blackBody":
		locus, name = colorimetry.BlackBody, "the black-body locus"
	case "daylight":
		locus, name = colorimetry.Daylight, "the daylight locus"
	case "blend":
		locus, name = colorimetry.Blend, "the blend of black body and daylight"
	}
	r.origin = figure.Origin{Method: "point of " + name, Confidence: "nominal"}
	xy, err := colorimetry.Nominal(colorimetry.Kelvin(kelvin), locus)
	duv, given := c.rule.Member("duv").Float()
	if err != nil || !given || duv == 0 {
		return xy, err
	}
	r.words += fmt.Sprintf(", Duv %+.4f from %s", duv, name)
	t, err := xy.CCTDuv()
	if err != nil {
		return xy, err
	}
	t.Duv += colorimetry.Duv(duv)
	return t.XY()
}

// mixOf is the reading of everything that it rests on, else the sum of the lights by their
// illuminance.
func (r *resolver) mixOf(c choice, inputs []input) (colorimetry.XY, error) {
	all := r.readingsAmong(inputs)
	if len(all) == 1 && all[0].Of == "everything" {
		color, err := all[0].colour()
		if err != nil {
			return colorimetry.XY{}, err
		}
		r.uses(all[0].Reading, c.at)
		r.origin.Method, r.origin.Confidence = "a reading of everything that was on", "measured"
		return color.XY, nil
	}
	var lit []colorimetry.Lit
	for _, m := range all {
		color, err := m.colour()
		if err != nil {
			return colorimetry.XY{}, err
		}
		if m.IlluminanceLux != nil {
			m.weight, m.given = *m.IlluminanceLux, true
		}
		if !m.given {
			return colorimetry.XY{}, fmt.Errorf("%w: for the mix, %s has no reading with lux here", figure.ErrUnknown, m.Name(r.book))
		}
		r.uses(m.Reading, c.at)
		lit = append(lit, colorimetry.Lit{Light: color.XY, Lux: colorimetry.Lux(m.weight)})
	}
	if len(lit) == 0 {
		return colorimetry.XY{}, fmt.Errorf("%w: no reading of the mix is listed", figure.ErrUnknown)
	}
	r.origin.Method, r.origin.Confidence = "tristimulus values of the single lights added by illuminance", "mixed"
	mixed, err := colorimetry.Mix(lit)
	return mixed.Light, err
}

func (r *resolver) compromise(c choice, inputs []input) (colorimetry.XY, error) {
	var lights []colorimetry.WeightedLight
	for _, m := range r.readingsAmong(inputs) {
		color, err := m.colour()
		if err != nil {
			return colorimetry.XY{}, err
		}
		t, err := color.CCTDuv()
		if err != nil {
			return colorimetry.XY{}, fmt.Errorf("for the compromise, %s: %w", m.Name(r.book), err)
		}
		if !m.given {
			m.weight = 1
		}
		r.uses(m.Reading, c.at)
		lights = append(lights, colorimetry.WeightedLight{Light: t, Weight: m.weight})
	}
	if len(lights) == 0 {
		return colorimetry.XY{}, fmt.Errorf("%w: for the compromise no light is named or measured", figure.ErrUnknown)
	}
	r.origin.Method, r.origin.Confidence = "weighted mean of mired and of Duv: least sum of weighted squared casts", "computed"
	white, err := colorimetry.Compromise(lights)
	if err != nil {
		return colorimetry.XY{}, err
	}
	return white.XY()
}

// settingOf is the setting that a rule names, and of which camera.
func (r *resolver) settingOf(c choice) (camera logbook.View, set cameras.Setting) {
	id, _ := c.rule.Member("camera").ID()
	camera, _ = r.book.RecordOf(kinds.Camera, id)
	return camera, cameras.SettingOf(logbook.Value(`"kelvin"`), c.rule.Member("kelvin"), c.rule.Member("tint"), "", "")
}

// labelOf is the white that the setting of a rule claims, and the body that it was set on.
func (r *resolver) labelOf(c choice) (label colorimetry.CCTDuv, body logbook.View, err error) {
	camera, set := r.settingOf(c)
	if !camera.Known() {
		id, _ := c.rule.Member("camera").ID()
		return label, body, fmt.Errorf("%w: the camera %s is not in the log", figure.ErrUnknown, id)
	}
	r.origin = figure.Origin{Method: "the label of the camera's setting", Confidence: "label", Records: []logbook.ID{camera.ID}}
	body, ok := cameras.BodyAt(r.book, camera, c.at)
	if !ok {
		return label, body, fmt.Errorf("%w: camera %s has no body", figure.ErrUnknown, camera.Text("letter"))
	}
	label, caveats, err := set.LabelWhite(r.book, body)
	r.origin.Caveats = caveats
	if typedAnew(body, c.at, "kelvinRanges", "kelvinValues", "tint", "tintZero", "tintPerKelvin") {
		r.caveat("the dials of " + body.Text("label") + " were typed anew after it was chosen; its label is read by them")
	}
	return label, body, err
}

func (r *resolver) cameraSetting(c choice, inputs []input) (colorimetry.XY, error) {
	label, body, err := r.labelOf(c)
	if err != nil {
		return colorimetry.XY{}, err
	}
	camera, set := r.settingOf(c)
	possible := set.PossibleWhites(r.book, body)
	e, ok := cameras.ErrorByCards(r.book, body, settingQuery(body, label, c.at, r.listed(inputs, body.ID)))
	if !ok {
		r.caveat("no card of this body counts: its label is taken at its word")
		r.possible = cameras.ToldBy(camera.ID, possible)
		return label.XY()
	}
	moved, err := e.Moves(label)
	if err != nil {
		return colorimetry.XY{}, err
	}
	r.origin.Method, r.origin.Confidence = "the label of the camera's setting and what earlier cards say of the body", "computed"
	r.origin.Records = append(r.origin.Records, e.Samples...)
	r.caveat("camera error " + e.Words)
	r.possible = cameras.ToldBy(camera.ID, cameras.ByCards(possible, e))
	return moved.XY()
}

// settingQuery asks for the error of a body by its cards where a setting of it is the white.
func settingQuery(body logbook.View, label colorimetry.CCTDuv, at logbook.Millis, known cameras.Known) cameras.ErrorQuery {
	return cameras.ErrorQuery{Mode: cameras.ModeOf("", body), Label: label, At: at, Inferred: true, Known: known}
}

// listed are the cards among the inputs with their weights. One of the body counts with 1
// where nobody said how much; one of another body only tells of the light on a card.
func (r *resolver) listed(inputs []input, body logbook.ID) cameras.Known {
	weights := map[logbook.ID]float64{}
	for _, in := range inputs {
		v, ok := r.book.RecordOf(kinds.Sample, in.record)
		if !ok {
			continue
		}
		weight, given := in.weight.Float()
		if !given && v.Ref("body") == body {
			weight = 1
		}
		weights[v.ID] = weight
	}
	return cameras.Known{Weights: weights}
}

func (r *resolver) customFromCard(c choice, inputs []input) (colorimetry.XY, error) {
	id, _ := c.rule.Member("sample").ID()
	card, _ := r.book.RecordOf(kinds.Sample, id)
	var behind []input
	for _, in := range inputs {
		if r.book.Resolve(in.record) != card.ID {
			behind = append(behind, in)
		}
	}
	known := r.listed(behind, card.Ref("body"))
	xy, possible, origin, err := cameras.LightOnCard(r.book, id, c.at, known)
	r.origin, r.possible = origin, possible
	return xy, err
}

func (r *resolver) sameAs(inputs []input) (colorimetry.XY, error) {
	words := r.words
	for _, in := range inputs {
		if white, ok := r.book.RecordOf(kinds.White, in.record); ok {
			xy, err := r.resolve(white)
			r.words = words + " (" + r.words + ")"
			return xy, err
		}
	}
	return colorimetry.XY{}, fmt.Errorf("%w: the white of the other set-up is not listed", figure.ErrUnknown)
}
