package setup

import (
	"fmt"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// What grey cards teach of a body, for everybody above. One rule says which cards count, as of
// when, and in which light:
//
//   - of a clip, cards of its date or an earlier one, near in time to the clip, in the light
//     that it was shot in; a card in the clip itself speaks for it alone;
//   - now, all cards, near to now, in the light of the white in force, or that which is asked.
//
// An error that is poor moves nothing. It is handed out for now alone, to be shown.

// clipLesson is a question about a clip, answered once for all that ask it.
type clipLesson struct {
	clip, body   logbook.ID
	label, white colorimetry.CCTDuv
	standsOn     colorimetry.CCTDuv
}

// A SettingWhite is the white of a setting: what it claims, and what it is by cards.
type SettingWhite struct {
	Label   colorimetry.CCTDuv
	White   colorimetry.CCTDuv // the label, moved by cards where they count
	Learnt  *cameras.Error     // counted in
	Caveats []string           // what the label assumes
	// Possible is what White may be: several where something of the body is not known, also
	// where there is none to show.
	Possible []cameras.Possible
	Later    string // how long after the clip a card was shot that counts; "" where none was
	Poor     bool   // there are cards, and they say too little
	Err      error  // why there is no white
}

// WhiteAtClip is the white that a clip's setting had, as its row, its correction, its findings
// and the pictures of the set-up have it. A custom white is no dial: cards of others leave it.
func (s *SetUp) WhiteAtClip(clip, body logbook.View, set cameras.Setting) (w SettingWhite) {
	label := s.memo.Label(set, body)
	w.Label, w.White, w.Caveats, w.Possible, w.Err = label.White, label.White, label.Caveats, label.Possible, label.Err
	if w.Err != nil || !set.OnDial() {
		return w
	}
	e, ok := s.learntAt(clip, body, clipLesson{label: w.Label})
	if w.Poor = ok && !e.Counts(); ok && !w.Poor {
		w.move(e)
		w.Later = s.laterCard(e, s.MomentOf(clip))
	}
	return w
}

// laterCard is how long after a moment the first card was shot that an error rests on and that
// is later; "" where none is.
func (s *SetUp) laterCard(e cameras.Error, at logbook.Millis) string {
	first := logbook.Ever
	for _, rest := range e.RestsOn {
		if v, ok := s.book.RecordOf(kinds.Sample, rest.Record); ok {
			if shot := cameras.ShotAt(s.book, v); shot > at {
				first = min(first, shot)
			}
		}
	}
	if first == logbook.Ever {
		return ""
	}
	return figure.AgeWords(figure.RoundTo(float64(first-at)/60000, 0))
}

func (w *SettingWhite) move(e cameras.Error) {
	if moved, err := e.Moves(w.Label); err == nil {
		w.White, w.Learnt, w.Possible = moved, &e, cameras.ByCards(w.Possible, e)
	}
}

// LearntTowards is what cards teach about what a body could have been set to at a clip, for a
// white that was wanted instead of the setting.
func (s *SetUp) LearntTowards(clip, body logbook.View, set cameras.Setting, white colorimetry.CCTDuv) (cameras.Error, bool) {
	e, ok := s.learntAt(clip, body, clipLesson{white: white, standsOn: s.standsOn(set, body)})
	return e, ok && e.Counts()
}

// standsOn is the label of a setting on a dial.
func (s *SetUp) standsOn(set cameras.Setting, body logbook.View) (label colorimetry.CCTDuv) {
	if l := s.memo.Label(set, body); set.OnDial() && l.Err == nil {
		label = l.White
	}
	return label
}

// learntAt is what cards teach for a clip, also where that is too little.
func (s *SetUp) learntAt(clip, body logbook.View, about clipLesson) (cameras.Error, bool) {
	about.clip, about.body = clip.ID, body.ID
	e, done := s.learnt[about]
	if !done {
		if found, ok := s.learnAt(clip, body, about); ok {
			e = &found
		}
		s.learnt[about] = e
	}
	if e == nil {
		return cameras.Error{}, false
	}
	return *e, true
}

func (s *SetUp) learnAt(clip, body logbook.View, about clipLesson) (cameras.Error, bool) {
	if len(s.book.Referring(kinds.Sample, "body", body.ID)) == 0 {
		return cameras.Error{}, false
	}
	ask := s.askAt(clip, body)
	ask.Label, ask.White, ask.StandsOn = about.label, about.white, about.standsOn
	if own := s.cardsIn(clip, body, about.label); len(own) > 0 {
		alone := ask
		alone.Family = "" // it was in the light of the clip
		alone.Counts = func(c *cameras.Card) bool {
			return ask.Counts(c) && (c.Body.ID != body.ID || slices.Contains(own, c.View.ID))
		}
		if e, ok := cameras.ErrorByCards(s.book, body, alone); ok && e.Counts() {
			return e, true
		}
	}
	return cameras.ErrorByCards(s.book, body, ask)
}

// askAt is a question about a body at a clip.
func (s *SetUp) askAt(clip, body logbook.View) cameras.ErrorQuery {
	light, at := s.LightAtClip(clip), s.MomentOf(clip)
	ask := cameras.ErrorQuery{
		Mode: cameras.ModeOf(clip.Text("recordingMode"), body), Glass: cameras.GlassOf(clip.Text("lens"), clip.Text("filters")),
		Family: light.Family, At: at, Inferred: true, Known: s.knownAt(at),
	}
	if light.Color != nil {
		if t, err := light.Color.CCTDuv(); err == nil {
			ask.Light = t
		}
	}
	return ask
}

// KnownAt are the cards that count for a clip.
func (s *SetUp) KnownAt(clip logbook.View) cameras.Known { return s.knownAt(s.MomentOf(clip)) }

// knownAt are the cards that count for what was shot in the set-up at a moment.
func (s *SetUp) knownAt(at logbook.Millis) cameras.Known {
	return cameras.KnownOn(lighting.DateOf(s.book, s.setUp.ID), at)
}

// cardsIn are the cards that a body shot within a clip on a label.
func (s *SetUp) cardsIn(clip, body logbook.View, label colorimetry.CCTDuv) (own []logbook.ID) {
	for _, c := range s.ShotCards() {
		if c.View.Ref("clip") != clip.ID || c.Body.ID != body.ID {
			continue
		}
		if shot, err := c.Label(); err == nil && shot == label {
			own = append(own, c.View.ID)
		}
	}
	return own
}

// ClipLight is the light that a clip was shot in.
type ClipLight struct {
	Color    *figure.Chromaticity // nil where none is known
	Origin   figure.Origin
	Family   string // of the lamps that made it
	Measured bool   // else the white in force stands for it
}

// LightAtClip is the light of a clip: the reference light, else the mix, as measured at its
// moment; else the white in force.
func (s *SetUp) LightAtClip(clip logbook.View) ClipLight {
	l, done := s.clipLights[clip.ID]
	if done {
		return l
	}
	var err error
	if l.Color, l.Origin, err = s.ReferenceAt(s.MomentOf(clip)); err == nil {
		l.Measured = true
	} else if p := s.PeriodOf(clip); p.White.Known() {
		l.Color, l.Origin = p.Reference, p.Origin
	}
	l.Family = s.familyOf(l.Origin)
	s.clipLights[clip.ID] = l
	return l
}

// familyOf is lighting.FamilyOfOrigin, looked up once: most clips rest on few readings.
func (s *SetUp) familyOf(o figure.Origin) string {
	key := ""
	for _, id := range o.Records {
		key += string(id[:])
	}
	family, ok := s.families[key]
	if !ok {
		family = lighting.FamilyOfOrigin(s.book, o)
		s.families[key] = family
	}
	return family
}

// LaterCards says in words what cards of the first later date say of a setting of a clip for
// which no card counts; "" where there is none. It moves nothing.
func (s *SetUp) LaterCards(clip, body logbook.View, set cameras.Setting) string {
	w, date := s.WhiteAtClip(clip, body, set), lighting.DateOf(s.book, s.setUp.ID)
	if w.Err != nil || w.Learnt != nil || !set.OnDial() || date == "" {
		return ""
	}
	next := cameras.NextDate(s.book, body, date)
	if next == "" {
		return ""
	}
	ask := s.askAt(clip, body)
	ask.Label, ask.Known = w.Label, cameras.Known{Counts: func(c *cameras.Card) bool {
		return c.Date == next || c.Body.ID != body.ID && c.Date <= next
	}}
	e, ok := cameras.ErrorByCards(s.book, body, ask)
	if !ok || !e.Counts() {
		return ""
	}
	first, _ := s.book.RecordOf(kinds.Sample, e.Samples[0])
	day, _ := lighting.DayOf(s.book, cameras.SetUpOf(s.book, first))
	number, _ := day.Value("number").Number()
	if len(e.Samples) == 1 {
		return fmt.Sprintf("a card of day %s says %+g mired", number, e.Mired)
	}
	return fmt.Sprintf("%d cards of day %s say %+g mired", len(e.Samples), number, e.Mired)
}

// WhitePlanned is the white of a setting that was not used yet, by cards as of now.
func (s *SetUp) WhitePlanned(camera, body logbook.View, p *Period, set cameras.Setting) (w SettingWhite) {
	label := s.memo.Label(set, body)
	w.Label, w.White, w.Caveats, w.Possible, w.Err = label.White, label.White, label.Caveats, label.Possible, label.Err
	if w.Err != nil || !set.OnDial() {
		return w
	}
	if e, ok := s.LearntHere(camera, body, p, cameras.ErrorQuery{Label: w.Label}); ok && e.Counts() {
		w.move(e)
	}
	return w
}

// LearntHere is what cards teach about a body for the light of a period, near the label or
// the white that is asked about, as of now: for what to dial. One that is poor comes too, to
// be shown.
func (s *SetUp) LearntHere(camera, body logbook.View, p *Period, ask cameras.ErrorQuery) (cameras.Error, bool) {
	if p.Reference != nil {
		if light, err := p.Reference.CCTDuv(); err == nil {
			ask.Light = light
		}
	}
	ask.Family, ask.Inferred = s.familyOf(p.Origin), true
	return s.LearntNow(camera, body, ask)
}

// LearntNow is LearntHere in the light that is asked. Cards whose light was inferred count
// where that is asked: not of the camera that another is matched to.
func (s *SetUp) LearntNow(camera, body logbook.View, ask cameras.ErrorQuery) (cameras.Error, bool) {
	if len(s.book.Referring(kinds.Sample, "body", body.ID)) == 0 {
		return cameras.Error{}, false
	}
	ask.At = s.Now()
	l := s.Stands(camera)
	ask.Mode, ask.Glass = cameras.RecordedWith(s.book, s.setUp, camera, body, l.Clip)
	if l.Known && l.Body.ID == body.ID && ask.White.CCT != 0 {
		ask.StandsOn = s.standsOn(l.Setting, body)
	}
	return cameras.ErrorByCards(s.book, body, ask)
}

// A Standing is the newest setting of a camera in the set-up, with its body and its last clip.
type Standing struct {
	Setting cameras.Setting
	Body    logbook.View
	Clip    logbook.ID
	// ReadOff is when it was set or read off after that clip; nil where the clip had it.
	ReadOff *logbook.Millis
	Known   bool
}

// Stands is how a camera stands in the set-up, looked up once.
func (s *SetUp) Stands(camera logbook.View) Standing {
	l, ok := s.stands[camera.ID]
	if !ok {
		l.Setting, l.Body, l.Clip, l.Known = cameras.LatestSetting(s.book, s.setUp, camera)
		l.since(s, camera)
		if s.stands == nil {
			s.stands = map[logbook.ID]Standing{}
		}
		s.stands[camera.ID] = l
	}
	return l
}

// since counts in how the camera was set for the set-up after its last clip there.
func (l *Standing) since(s *SetUp, camera logbook.View) {
	body, ok := cameras.BodyNow(s.book, camera)
	if !ok {
		return
	}
	set, at, ok := cameras.SetSince(s.book, camera, body.ID)
	if id, _ := set.Member("setUp").ID(); !ok || s.book.Resolve(id) != s.setUp.ID || at > s.upTo {
		return
	}
	for _, clip := range s.clips {
		if clip.Ref("camera") == camera.ID && s.MomentOf(clip) >= at {
			return
		}
	}
	l.Setting = cameras.SettingOf(set.Member("whiteMode"), set.Member("kelvin"), set.Member("tint"), set.Member("amberBlue"),
		set.Member("preset"))
	l.Body, l.Known, l.ReadOff = body, l.Setting.Complete(), &at
}

// ShotCards are the cards of the set-up that count and can be read, by time.
func (s *SetUp) ShotCards() []*cameras.Card {
	s.lookForCards()
	return s.cards
}

func (s *SetUp) lookForCards() {
	if !s.cardsSeen {
		s.cards, s.codedCards = cameras.ShotIn(s.book, s.setUp.ID)
		s.cardsSeen = true
	}
}

// NewestCard is a camera's newest card in the set-up.
func (s *SetUp) NewestCard(camera logbook.ID) *cameras.Card {
	all := s.ShotCards()
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Camera == camera {
			return all[i]
		}
	}
	return nil
}

// CardOfClip is the newest card that a body shot on a clip's setting: within the clip, else in
// the set-up. Only the first shows the clip itself.
func (s *SetUp) CardOfClip(clip, body logbook.View, set cameras.Setting) (found *cameras.Card, inClip bool) {
	return ofClip(s.ShotCards(), clip, body, set)
}

// CodedCardOfClip is CardOfClip of the cards of which only the codes are known.
func (s *SetUp) CodedCardOfClip(clip, body logbook.View, set cameras.Setting) (found *cameras.Card, inClip bool) {
	s.lookForCards()
	return ofClip(s.codedCards, clip, body, set)
}

func ofClip(cards []*cameras.Card, clip, body logbook.View, set cameras.Setting) (found *cameras.Card, inClip bool) {
	for _, shot := range cards {
		if shot.Body.ID != body.ID || shot.Set.Mode != set.Mode {
			continue
		}
		within, same := shot.View.Ref("clip") == clip.ID, shot.Set.Key() == set.Key()
		if within && (same || !set.OnDial()) || same && !inClip {
			found, inClip = shot, within
		}
	}
	return found, inClip
}
