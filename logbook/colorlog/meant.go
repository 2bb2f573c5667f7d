package colorlog

import (
	"cmp"
	"sort"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
)

func sortTakes(b *logbook.Book, takes []logbook.View) {
	sort.SliceStable(takes, func(i, j int) bool { return logbook.TakeTime(b, takes[i]) < logbook.TakeTime(b, takes[j]) })
}

// whiteOf is the white in force at a take, else at the start of the clip.
func (s *setUp) whiteOf(sh *shot, take logbook.View) (w logbook.WhiteInForce, ok bool) {
	var record logbook.View
	switch {
	case !take.ID.IsZero():
		record, ok = logbook.WhiteOfTake(s.book, take)
	case !s.view.ID.IsZero():
		record, ok = logbook.WhiteAt(s.book, s.view.ID, sh.start)
	}
	if !ok {
		return w, false
	}
	if w, known := s.whites[record.ID]; known {
		return w, true
	}
	w = logbook.WhiteInForceOf(s.book, record)
	s.whites[record.ID] = w
	return w, true
}

// meant says what the white was and what this camera aims at.
func (s *setUp) meant(sh *shot, w logbook.WhiteInForce, ok bool) Meant {
	if !ok {
		return Meant{Problem: "no white was chosen", IntendedCast: logbook.IntendedCast{From: "none"}}
	}
	aim := logbook.AimOfCamera(s.book, w, sh.camera.ID)
	return Meant{
		White: w.White, From: w.From, Words: w.Words, Since: w.Since, Color: w.Color, Method: w.Origin.Method, Confidence: w.Origin.Confidence,
		Caveats: w.Origin.Caveats, IntendedCast: aim.IntendedCast, Aim: aim.Aim, DecidedBy: w.DecidedBy, JudgedOn: w.JudgedOn, Problem: cmp.Or(w.Problem, aim.Problem),
	}
}

// there says what was measured up to the start of the clip, and returns the
// reference light's colour: measured, else the white.
func (s *setUp) there(sh *shot, take logbook.View, white *logbook.Chromaticity) (There, *logbook.Chromaticity) {
	t := There{Lights: []Light{}}
	if !take.ID.IsZero() {
		t.Sky = take.Text("sky")
	}
	s.measuredReference(&t, sh)
	if t.Sky == "" {
		if m := s.latest(sh.start, func(m *logbook.Measurement) bool { return m.Sky != "" }); m != nil {
			t.Sky = m.Sky
		}
	}
	for _, light := range s.lights {
		t.Lights = append(t.Lights, s.light(sh, light, white))
	}
	if t.Reference == nil {
		return t, white
	}
	return t, t.Reference
}

// measuredReference finds the reading of the reference light, else of everything that
// was on, else the sum of the single lights.
func (s *setUp) measuredReference(t *There, sh *shot) {
	if s.view.ID.IsZero() {
		return
	}
	position := s.view.Text("referencePosition")
	here := func(m *logbook.Measurement) bool {
		return m.Color != nil && ofTheSet(s.book, m) && (position == "" || m.Position == position)
	}
	if id := s.view.Ref("referenceLight"); !id.IsZero() {
		m := s.latest(sh.start, func(m *logbook.Measurement) bool { return m.Color != nil && s.speaksOf(m, id) })
		light, _ := s.book.RecordOf(logbook.KindLight, id)
		if m != nil {
			t.rest(sh, cmp.Or(textOf(light, "name"), "the reference light"), m)
			t.Reference, t.IlluminanceLux = m.Color, m.IlluminanceLux
		}
		return
	}
	if m := s.latest(sh.start, func(m *logbook.Measurement) bool { return m.Of == "everything" && here(m) }); m != nil {
		t.rest(sh, "everything that is on", m)
		t.Reference, t.IlluminanceLux = m.Color, m.IlluminanceLux
		return
	}
	var lit []colorimetry.Lit
	var used []*logbook.Measurement
	for _, light := range s.lights {
		if m := s.latest(sh.start, func(m *logbook.Measurement) bool {
			return here(m) && m.IlluminanceLux != nil && s.speaksOf(m, light.ID)
		}); m != nil {
			lit, used = append(lit, colorimetry.Lit{Light: m.Color.XY, Lux: colorimetry.Lux(*m.IlluminanceLux)}), append(used, m)
		}
	}
	mixed, err := colorimetry.Mix(lit)
	if err != nil {
		return
	}
	t.rest(sh, "the mix of the lights that were measured", used...)
	lux := round(float64(mixed.Lux), 1)
	t.Reference, t.IlluminanceLux = shown(mixed.Light), &lux
}

// rest notes the readings that the reference rests on.
func (t *There) rest(sh *shot, words string, used ...*logbook.Measurement) {
	t.ReferenceFrom = words
	for _, m := range used {
		t.Readings = append(t.Readings, m.Reading)
		if age := ageMinutes(m, sh.start); t.AgeMinutes == nil || age > *t.AgeMinutes {
			t.AgeMinutes = &age
		}
		if m.TakenAt > sh.start {
			t.ReferenceFrom = words + ", measured after the clip began"
		}
	}
}

func (s *setUp) light(sh *shot, light logbook.View, white *logbook.Chromaticity) Light {
	l := Light{Name: light.Text("name"), Role: light.Text("role"), Intent: intentOf(light), Record: light.ID}
	m := s.latest(sh.start, func(m *logbook.Measurement) bool { return s.speaksOf(m, light.ID) })
	if m == nil {
		l.Problem = "not measured"
		return l
	}
	age := ageMinutes(m, sh.start)
	l.Color, l.Problem, l.IlluminanceLux, l.AgeMinutes = m.Color, m.Problem, m.IlluminanceLux, &age
	if m.Color != nil && white != nil {
		l.Cast = castOf(m.Color.XY, white.XY)
	}
	return l
}

// speaksOf reports whether a reading is of one light alone, as it was on the set.
func (s *setUp) speaksOf(m *logbook.Measurement, light logbook.ID) bool {
	return m.Of == "light" && len(m.Lights) == 1 && m.Lights[0] == light && ofTheSet(s.book, m)
}

// ofTheSet leaves out readings that speak of a gel or of the meter.
func ofTheSet(b *logbook.Book, m *logbook.Measurement) bool {
	reading, _ := b.RecordOf(logbook.KindReading, m.Reading)
	return m.Purpose != "gelTest" && m.Purpose != "meterCompare" && reading.Value("throughGel") == ""
}

// latest returns the newest reading that passes up to a time; where none is so
// old, the first one after it.
func (s *setUp) latest(upTo logbook.Millis, pass func(*logbook.Measurement) bool) *logbook.Measurement {
	var found *logbook.Measurement
	for _, m := range s.readings {
		if m.TakenAt > upTo && found != nil {
			break
		}
		if pass(m) {
			found = m
		}
	}
	return found
}

func ageMinutes(m *logbook.Measurement, at logbook.Millis) float64 {
	return max(0, round(float64(at-m.TakenAt)/60000, 0))
}

// intentOf is the intent of a light, by its role where nobody said.
func intentOf(light logbook.View) string {
	switch light.Text("role") {
	case "key", "fill", "back", "background":
		return cmp.Or(light.Text("intent"), "match")
	}
	return cmp.Or(light.Text("intent"), "leave")
}

func textOf(v logbook.View, field string) string {
	if v.ID.IsZero() {
		return ""
	}
	return v.Text(field)
}
