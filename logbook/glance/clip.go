package glance

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// ClipSummary is what was set, meant and there for one clip, and what it gives.
type ClipSummary struct {
	Setting cameras.Dialled // as typed, with the white of its label
	Caveats []string        // what the label's white assumes
	Problem string          // why there is no label white
	White   *setup.White
	Aim     setup.Aim
	// Measured is the reference light, else the mix, as last measured at the
	// clip's time; Reference is what lamps are judged against: the white.
	Measured       *figure.Chromaticity
	MeasuredOrigin figure.Origin
	MeasuredLux    *float64
	Reference      *figure.Chromaticity
	Lights         []LightNow
	// Cast is that of the measured light, else of the white, in this camera by its
	// label, moved by what grey cards taught; OffAim what of it was not intended.
	Cast               *figure.Difference
	OffAim             *figure.Difference
	RestsOn            string       // "label", or the white "by cards 5845 K, …"
	Cards              []logbook.ID // behind that white
	CardCaveats        []string     // "a card of camera A was shot 10 min later": what is to be known of cards
	LaterCards         string       // "a card of day 2 says +6 mired": counted in nowhere
	ReferenceCamera    logbook.ID
	OffReferenceCamera *figure.Difference // against the reference camera in the same take
	Limits             []figure.Limits
}

// A SetUpSummary is one set-up, read once for all of its clips.
type SetUpSummary struct {
	s          *overview
	first      map[logbook.ID]*deviation.Shot // by clip: its setting at the start
	beside     map[logbook.ID]*deviation.Shot // by clip: the reference camera's shot in the same take
	deviations []deviation.Deviation
}

// Summarize reads one set-up of a book.
func Summarize(b *logbook.Book, setUp logbook.View) *SetUpSummary {
	return NewSummarizer(b).Summarize(setUp)
}

// A Summarizer reads several set-ups of a book, which must not change meanwhile.
type Summarizer struct {
	reader      *setup.Reader
	acceptances []deviation.Acceptance
}

func NewSummarizer(b *logbook.Book) *Summarizer {
	return &Summarizer{setup.NewReader(b), deviation.Acceptances(b)}
}

// Summarize reads a set-up.
func (r *Summarizer) Summarize(setUp logbook.View) *SetUpSummary {
	r.reader.Leans() // of the set-up before: nobody keeps what is said here
	s := r.reader.ReadForRows(setUp)
	f := deviation.NewFinder(s)
	t := &SetUpSummary{
		s: newOverview(s), first: map[logbook.ID]*deviation.Shot{}, beside: map[logbook.ID]*deviation.Shot{},
		deviations: f.Deviations(r.acceptances),
	}
	deviation.Sort(t.deviations)
	shots := f.Shots()
	reference := f.OfReferenceCamera(shots)
	for _, sh := range shots {
		if t.first[sh.Clip.ID] == nil {
			t.first[sh.Clip.ID] = sh
		}
		t.beside[sh.Clip.ID] = deviation.ShotBeside(sh, reference)
	}
	return t
}

// SetUp is what the summaries are made of.
func (t *SetUpSummary) SetUp() *setup.SetUp { return t.s.SetUp }

// WhiteOfTake is the white in force at a take of the set-up; nil where there is none. It is
// that of a clip where it is the same one.
func (t *SetUpSummary) WhiteOfTake(take logbook.View) *setup.White {
	if p := t.s.PeriodOfTake(take); p.White.Known() {
		return &p.InForce
	}
	return nil
}

// SkyAt is the sky over the set-up at a clip; "" where nobody named one.
func (t *SetUpSummary) SkyAt(clip logbook.View) string { return t.s.SkyAt(t.s.MomentOf(clip)) }

// MomentOf is when a clip of the set-up was.
func (t *SetUpSummary) MomentOf(clip logbook.View) logbook.Millis { return t.s.MomentOf(clip) }

// Measured reports whether anything was read in the set-up.
func (t *SetUpSummary) Measured() bool { return len(t.s.Readings()) > 0 }

// Deviations are those of the set-up.
func (t *SetUpSummary) Deviations() []deviation.Deviation { return t.deviations }

// Clip summarizes one clip of the set-up, by the setting at its start.
func (t *SetUpSummary) Clip(clip logbook.View) ClipSummary {
	s, p, at := t.s, t.s.PeriodOf(clip), t.s.MomentOf(clip)
	body, _ := s.Book().RecordOf(kinds.Body, clip.Ref("body"))
	label := s.Memo().Label(cameras.ClipSetting(clip), body)
	c := ClipSummary{
		Setting: label.Dialled, Reference: p.Reference, Aim: s.Aim(p, clip.Ref("camera")),
		ReferenceCamera: s.ReferenceCamera(), Limits: []figure.Limits{s.Limits()},
	}
	if p.White.Known() {
		c.White = &p.InForce
	}
	there := t.measured(clip)
	c.Measured, c.MeasuredOrigin, c.MeasuredLux = there.color, there.origin, there.lux
	roles := map[string]bool{}
	for _, light := range s.Lights() {
		l := s.lightNow(p, light, at)
		if !roles[l.Limits.Role] {
			roles[l.Limits.Role] = true
			c.Limits = append(c.Limits, l.Limits)
		}
		c.Lights = append(c.Lights, l)
	}
	c.Caveats = label.Caveats
	if label.Err != nil {
		c.Problem = label.Err.Error()
		return c
	}
	white := label.White
	c.RestsOn = "label"
	if sh := t.first[clip.ID]; sh != nil && sh.ByCards != "" {
		white = sh.White
		c.RestsOn, c.Cards = sh.ByCards, sh.Cards
	} else {
		c.LaterCards = s.LaterCards(clip, body, cameras.ClipSetting(clip))
	}
	if sh := t.first[clip.ID]; sh != nil {
		c.CardCaveats = ofCards(sh)
	}
	t.predict(&c, clip, white)
	return c
}

// lightThere is the reference light, else the mix, as it was measured for a clip.
type lightThere struct {
	color  *figure.Chromaticity
	origin figure.Origin
	lux    *float64
}

// measured is the light of a clip, where it was measured.
func (t *SetUpSummary) measured(clip logbook.View) (l lightThere) {
	light := t.s.LightAtClip(clip)
	if !light.Measured {
		return l
	}
	l.color, l.origin = light.Color, light.Origin
	if len(l.origin.Records) == 1 {
		for _, m := range t.s.Readings() {
			if m.Reading == l.origin.Records[0] {
				l.lux = m.IlluminanceLux
			}
		}
	}
	return l
}

// predict adds what a white makes of the light.
func (t *SetUpSummary) predict(c *ClipSummary, clip logbook.View, white colorimetry.CCTDuv) {
	light := t.s.LightAtClip(clip).Color
	if xy, err := white.XY(); err == nil && light != nil {
		d := figure.CastDifference(light.XY, xy)
		c.Cast = &d
	}
	if c.Aim.Aim != nil {
		if want, err := c.Aim.Aim.CCTDuv(); err == nil {
			d := figure.PictureDifference(white, want, c.Reference)
			if sh := t.first[clip.ID]; sh != nil {
				if off := t.s.OffAim(t.s.PeriodOf(clip), clip.Ref("camera"), sh.Possible()); len(off) > 0 {
					d.Words = figure.RangeWords(off)
				}
			}
			c.OffAim = &d
		}
	}
	if other := t.beside[clip.ID]; other != nil && other.Known() {
		d := figure.PictureDifference(white, other.White, c.Reference)
		c.OffReferenceCamera = &d
		c.CardCaveats = append(c.CardCaveats, ofCards(other)...)
	}
}

// ofCards says what is to be known of the cards of a camera beside the white that they make.
func ofCards(sh *deviation.Shot) []string {
	switch letter := sh.Letter(); {
	case sh.LaterCard != "":
		return []string{fmt.Sprintf("a card of camera %s was shot %s later", letter, sh.LaterCard)}
	case sh.PoorCards:
		return []string{fmt.Sprintf("the cards of camera %s say too little", letter)}
	}
	return nil
}
