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

// resolver turns the rule of a white into a colour. Rules that follow the log
// (mix, compromise, the white of another set-up) are read as of the moment when
// the white was decided: a later reading must not move a chosen white.
type resolver struct {
	book   *logbook.Book
	seen   map[logbook.ID]bool
	memo   lighting.Memo
	words  string
	origin figure.Origin
}

func newResolver(b *logbook.Book) *resolver {
	return &resolver{book: b, seen: map[logbook.ID]bool{}, memo: lighting.Memo{}}
}

func (r *resolver) readingsOf(setUp logbook.ID) []*lighting.Reading {
	return r.memo.ReadingsOf(r.book, setUp)
}

func (r *resolver) resolve(white logbook.View) (colorimetry.XY, error) {
	if r.seen[white.ID] {
		return colorimetry.XY{}, fmt.Errorf("%w: the whites of the set-ups name each other in a circle", figure.ErrUnknown)
	}
	r.seen[white.ID] = true
	rule, at := white.Value("from"), white.CreatedAt()
	switch as, _ := rule.Member("as").Text(); as {
	case "readings":
		return r.readings(rule, at)
	case "nominal":
		return r.nominal(rule)
	case "mix":
		position, _ := rule.Member("position").Text()
		r.words = "the mix of all lights that are on"
		if position != "" {
			r.words += " at " + position
		}
		return r.mix(white.Ref("setUp"), position, at)
	case "compromise":
		return r.compromise(rule, white.Ref("setUp"), at)
	case "cameraSetting":
		return r.cameraSetting(rule, at)
	case "customFromCard":
		id, _ := rule.Member("sample").ID()
		r.words = "custom white from a card"
		xy, origin, err := cameras.LightOnCard(r.book, id, at, cameras.Known{})
		r.origin = origin
		return xy, err
	case "sameAs":
		return r.sameAs(rule, at)
	default:
		return colorimetry.XY{}, fmt.Errorf("%w: a white from %q is not a form this version knows", figure.ErrUnknown, logbook.Shorten(as))
	}
}

// uses notes a reading as used.
func (r *resolver) uses(m *lighting.Reading, at logbook.Millis) { m.NoteIn(&r.origin, at) }

func (r *resolver) caveat(words string) { r.origin.Caveats = append(r.origin.Caveats, words) }

func (r *resolver) readings(rule logbook.Value, at logbook.Millis) (colorimetry.XY, error) {
	var lit []colorimetry.Lit
	for item := range rule.Member("readings").Items() {
		id, _ := item.Member("reading").ID()
		v, ok := r.book.RecordOf(kinds.Reading, id)
		if !ok {
			return colorimetry.XY{}, fmt.Errorf("%w: the reading %s is not in the log", figure.ErrUnknown, id)
		}
		m := lighting.Read(r.book, v)
		if m.Color == nil {
			return colorimetry.XY{}, fmt.Errorf("%w: reading %s: %s", figure.ErrUnknown, id, m.Problem)
		}
		weight, ok := item.Member("weight").Float()
		if !ok {
			weight = 1
		}
		r.uses(m, at)
		r.words = m.Name(r.book) + ", measured"
		lit = append(lit, colorimetry.Lit{Light: m.Color.XY, Lux: colorimetry.Lux(weight)})
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

func (r *resolver) nominal(rule logbook.Value) (colorimetry.XY, error) {
	kelvin, ok := rule.Member("kelvin").Float()
	if !ok {
		return colorimetry.XY{}, fmt.Errorf("%w: the nominal white has no kelvin", figure.ErrUnknown)
	}
	locus, name := nominalLocus(r.book), "the production's locus"
	switch text, _ := rule.Member("locus").Text(); text {
	case "blackBody":
		locus, name = colorimetry.BlackBody, "the black-body locus"
	case "daylight":
		locus, name = colorimetry.Daylight, "the daylight locus"
	case "blend":
		locus, name = colorimetry.Blend, "the blend of black body and daylight"
	}
	r.words = fmt.Sprintf("nominal %s K", rule.Member("kelvin"))
	r.origin = figure.Origin{Method: "point of " + name, Confidence: "nominal"}
	xy, err := colorimetry.Nominal(colorimetry.Kelvin(kelvin), locus)
	duv, given := rule.Member("duv").Float()
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

// mix is measured where somebody measured everything that was on since the last
// single light, and computed from the single lights otherwise.
func (r *resolver) mix(setUp logbook.ID, position string, at logbook.Millis) (colorimetry.XY, error) {
	all := r.readingsOf(setUp)
	here := func(m *lighting.Reading) bool {
		return m.Plain() && m.Color != nil && (position == "" || m.Position == position)
	}
	together := lighting.Latest(all, at, func(m *lighting.Reading) bool { return here(m) && m.Of == "everything" })
	var lit []colorimetry.Lit
	var used []*lighting.Reading
	missing := ""
	for _, light := range r.book.Referring(kinds.Light, "setUp", setUp) {
		if !lighting.IsOn(light) {
			continue
		}
		m := lighting.Latest(all, at, func(m *lighting.Reading) bool { return here(m) && m.OfLight(light.ID) && m.IlluminanceLux != nil })
		if m == nil {
			missing = light.Text("name")
			continue
		}
		used = append(used, m)
		lit = append(lit, colorimetry.Lit{Light: m.Color.XY, Lux: colorimetry.Lux(*m.IlluminanceLux)})
	}
	newer := len(lit) > 0 && missing == ""
	for _, m := range used {
		if together != nil && m.TakenAt <= together.TakenAt {
			newer = false
		}
	}
	switch {
	case together != nil && !newer:
		r.uses(together, at)
		r.origin.Method, r.origin.Confidence = "a reading of everything that was on", "measured"
		return together.Color.XY, nil
	case missing != "":
		return colorimetry.XY{}, fmt.Errorf("%w: for the mix, %s has no reading with lux here", figure.ErrUnknown, missing)
	case len(lit) == 0:
		return colorimetry.XY{}, fmt.Errorf("%w: for the mix there is neither a light that is on nor a reading of everything", figure.ErrUnknown)
	}
	for _, m := range used {
		r.uses(m, at)
		last := lighting.Latest(all, at, func(o *lighting.Reading) bool { return here(o) && len(m.Lights) == 1 && o.OfLight(m.Lights[0]) })
		if last != nil && last.TakenAt > m.TakenAt {
			r.caveat("a newer reading of " + m.Name(r.book) + " has no lux: the one before was added")
		}
	}
	r.origin.Method, r.origin.Confidence = "tristimulus values of the single lights added by illuminance", "mixed"
	mixed, err := colorimetry.Mix(lit)
	return mixed.Light, err
}

// compromise takes the lights that are named, else those that are on and are to
// match.
func (r *resolver) compromise(rule logbook.Value, setUp logbook.ID, at logbook.Millis) (colorimetry.XY, error) {
	weights := map[logbook.ID]float64{}
	for item := range rule.Member("lights").Items() {
		if id, ok := item.Member("light").ID(); ok {
			weights[r.book.Resolve(id)] = 1
			if weight, ok := item.Member("weight").Float(); ok {
				weights[r.book.Resolve(id)] = weight
			}
		}
	}
	all := r.readingsOf(setUp)
	var lights []colorimetry.WeightedLight
	for _, light := range r.book.Referring(kinds.Light, "setUp", setUp) {
		weight, named := weights[light.ID]
		if len(weights) == 0 {
			weight, named = 1, lighting.IsOn(light) && lighting.Intent(light) == "match"
		}
		if !named {
			continue
		}
		m := lighting.Latest(all, at, func(m *lighting.Reading) bool { return m.Plain() && m.OfLight(light.ID) && m.Color != nil })
		if m == nil {
			return colorimetry.XY{}, fmt.Errorf("%w: for the compromise, %s has no reading", figure.ErrUnknown, light.Text("name"))
		}
		t, err := m.Color.CCTDuv()
		if err != nil {
			return colorimetry.XY{}, fmt.Errorf("for the compromise, %s: %w", light.Text("name"), err)
		}
		r.uses(m, at)
		lights = append(lights, colorimetry.WeightedLight{Light: t, Weight: weight})
	}
	r.words = "compromise between the lights"
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

func (r *resolver) cameraSetting(rule logbook.Value, at logbook.Millis) (colorimetry.XY, error) {
	id, _ := rule.Member("camera").ID()
	camera, ok := r.book.RecordOf(kinds.Camera, id)
	if !ok {
		return colorimetry.XY{}, fmt.Errorf("%w: the camera %s is not in the log", figure.ErrUnknown, id)
	}
	s := cameras.SettingOf(logbook.Value(`"kelvin"`), rule.Member("kelvin"), rule.Member("tint"), "", "")
	r.words = fmt.Sprintf("camera %s is at %s", camera.Text("letter"), s.InWords(logbook.View{}))
	r.origin = figure.Origin{Method: "the label of the camera's setting", Confidence: "label", Records: []logbook.ID{camera.ID}}
	body, ok := cameras.BodyAt(r.book, camera, at)
	if !ok {
		return colorimetry.XY{}, fmt.Errorf("%w: camera %s has no body", figure.ErrUnknown, camera.Text("letter"))
	}
	t, caveats, err := s.LabelWhite(r.book, body)
	r.origin.Caveats = caveats
	if err != nil {
		return colorimetry.XY{}, err
	}
	// By cards shot until then: a later one must not move a chosen white.
	ask := cameras.ErrorQuery{Mode: cameras.ModeOf("", body), Label: t, At: at, Known: cameras.KnownBy(at)}
	if e, ok := cameras.ErrorByCards(r.book, body, ask); ok {
		if moved, err := e.Moves(t); err == nil {
			r.origin.Method, r.origin.Confidence = "the label of the camera's setting and what earlier cards say of the body", "computed"
			r.origin.Records = append(r.origin.Records, e.Samples...)
			r.caveat("camera error " + e.Words)
			return moved.XY()
		}
	}
	r.caveat("no card was shot with this body: its label is taken at its word")
	return t.XY()
}

func (r *resolver) sameAs(rule logbook.Value, at logbook.Millis) (colorimetry.XY, error) {
	id, _ := rule.Member("setUp").ID()
	setUp, ok := r.book.RecordOf(kinds.SetUp, id)
	r.words = "same as set-up " + lighting.SetUpName(r.book, setUp)
	if !ok {
		return colorimetry.XY{}, fmt.Errorf("%w: the set-up %s is not in the log", figure.ErrUnknown, id)
	}
	words := r.words
	white, ok := WhiteAt(r.book, setUp.ID, at)
	if !ok {
		return colorimetry.XY{}, fmt.Errorf("%w: set-up %s had no white when this was decided", figure.ErrUnknown, setUp.Text("name"))
	}
	xy, err := r.resolve(white)
	r.words = words + " (" + r.words + ")"
	return xy, err
}
