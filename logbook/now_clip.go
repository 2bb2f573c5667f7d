package logbook

import "evenwhite/colorimetry"

// ClipTold is what was set, meant and there for one clip, and what it gives.
type ClipTold struct {
	Setting Dialled  // as typed, with the white of its label
	Caveats []string // what the label's white assumes
	Problem string   // why there is no label white
	White   *WhiteInForce
	Aim     AimOf
	// Measured is the reference light, else the mix, as last measured at the
	// clip's time; Reference is what lamps are judged against: the white.
	Measured       *Chromaticity
	MeasuredOrigin Origin
	MeasuredLux    *float64
	Reference      *Chromaticity
	Lights         []LightNow
	// Cast is that of the measured light, else of the white, in this camera as it
	// is labelled; OffAim what of it was not intended.
	Cast               *Difference
	OffAim             *Difference
	ReferenceCamera    ID
	OffReferenceCamera *Difference // against the reference camera in the same take
	Limits             []Limits
}

// A Telling reads one set-up once, for telling its clips.
type Telling struct {
	s          *situation
	beside     map[ID]*shot // by clip: the reference camera's shot in the same take
	deviations []Deviation
}

// Tell reads a set-up.
func Tell(b *Book, setUp View, now Millis) *Telling {
	s := situationOf(b, setUp, now)
	t := &Telling{s: s, beside: map[ID]*shot{}, deviations: s.deviations(acceptancesOf(b))}
	sortDeviations(t.deviations)
	shots := s.shots()
	reference := s.ofReferenceCamera(shots)
	for _, sh := range shots {
		t.beside[sh.clip.ID] = beside(sh, reference)
	}
	return t
}

// Deviations are those of the set-up.
func (t *Telling) Deviations() []Deviation { return t.deviations }

// Clip tells one clip of the set-up, by the setting at its start.
func (t *Telling) Clip(clip View) ClipTold {
	s, p, at := t.s, t.s.periodOf(clip), clipTime(clip)
	if takes := s.takesOf(clip); len(takes) > 0 {
		at = TakeTime(s.book, takes[0])
	}
	body, _ := s.book.RecordOf(KindBody, clip.Ref("body"))
	set := clipSetting(clip)
	c := ClipTold{
		Setting: set.dialled(s.book, body), Reference: p.reference, Aim: s.aim(p, clip.Ref("camera")),
		ReferenceCamera: s.reference, Limits: []Limits{s.limits},
	}
	if p.white.book != nil {
		c.White = &p.inForce
	}
	t.measured(&c, at)
	roles := map[string]bool{}
	for _, light := range s.lights {
		l := s.lightNow(p, light, at)
		if !roles[l.Limits.Role] {
			roles[l.Limits.Role] = true
			c.Limits = append(c.Limits, l.Limits)
		}
		c.Lights = append(c.Lights, l)
	}
	white, caveats, err := set.labelWhite(s.book, body)
	c.Caveats = caveats
	if err != nil {
		c.Problem = err.Error()
		return c
	}
	t.gives(&c, clip, white)
	return c
}

func (t *Telling) measured(c *ClipTold, at Millis) {
	s := t.s
	xy, origin, err := referenceWithoutWhite(s.resolver(), s.setUp, at)
	if err != nil {
		return
	}
	c.Measured, c.MeasuredOrigin = xy, origin
	if len(origin.Records) != 1 {
		return
	}
	for _, m := range s.readings {
		if m.Reading == origin.Records[0] {
			c.MeasuredLux = m.IlluminanceLux
		}
	}
}

// gives predicts the picture from the label.
func (t *Telling) gives(c *ClipTold, clip View, white colorimetry.CCTDuv) {
	light := c.Measured
	if light == nil {
		light = c.Reference
	}
	if xy, err := white.XY(); err == nil && light != nil {
		d := castDifference(light.XY, xy)
		c.Cast = &d
	}
	if c.Aim.Aim != nil {
		if want, err := c.Aim.Aim.cctDuv(); err == nil {
			d := pictureDifference(white, want, c.Reference)
			c.OffAim = &d
		}
	}
	if o := t.beside[clip.ID]; o != nil {
		d := pictureDifference(white, o.white, c.Reference)
		c.OffReferenceCamera = &d
	}
}
