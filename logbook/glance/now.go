package glance

import (
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// SetUpNow is what is known of a set-up at a moment: its white, its lights, what
// each camera should be set to, and what is off.
type SetUpNow struct {
	SetUp logbook.ID `json:"setUp"`
	At    time.Time  `json:"at"`
	// Headline says it in at most 60 characters: the worst that is off, else how the
	// lights are and which to meter.
	Headline string       `json:"headline"`
	White    *setup.White `json:"white,omitempty"`
	// NextTake is the number of the take that comes next: that from which a new white is
	// offered to apply.
	NextTake int `json:"nextTake"`
	// Reference is what lamps are judged against: the white in force, else the
	// reference light, else the mix. Absent where nothing is known.
	Reference       *figure.Chromaticity  `json:"reference,omitempty"`
	ReferenceOrigin figure.Origin         `json:"referenceOrigin"`
	Lights          []LightNow            `json:"lights"`
	Mixes           []setup.Mix           `json:"mixes"` // where more than one light was read, or all together
	Cameras         []CameraNow           `json:"cameras"`
	Deviations      []deviation.Deviation `json:"deviations"`
	Limits          []figure.Limits       `json:"limits"`
	Cautions        []string              `json:"cautions"` // chosen by the lamps that are here
}

// LightNow is a light with its current reading.
type LightNow struct {
	Light      logbook.ID `json:"light"`
	Name       string     `json:"name"`
	Role       string     `json:"role"`
	Intent     string     `json:"intent"` // match, holdOwnColor or leave
	On         bool       `json:"on"`
	Reading    logbook.ID `json:"reading,omitzero"`
	TakenAt    *time.Time `json:"takenAt,omitempty"`
	AgeMinutes *float64   `json:"ageMinutes,omitempty"`
	// How is before, after or between: how the reading lies to the moment that is asked;
	// NextReading is the later one of two that have it between them. When says it for a clip.
	How             string               `json:"how,omitempty"`
	NextReading     logbook.ID           `json:"nextReading,omitzero"`
	When            string               `json:"when,omitempty"` // "30 min before", "read 3 min later"
	StaleBecause    []string             `json:"staleBecause,omitempty"`
	IlluminanceLux  *float64             `json:"illuminanceLux,omitempty"`
	FloorXY         *float64             `json:"floorXY,omitempty"` // of the meter
	Color           *figure.Chromaticity `json:"color,omitempty"`
	Problem         string               `json:"problem,omitempty"` // why there is no colour
	Cast            *figure.Difference   `json:"cast,omitempty"`    // against the reference
	OffOwnColor     *figure.Difference   `json:"offOwnColor,omitempty"`
	Picture         *figure.Swatch       `json:"picture,omitempty"` // predicted, in the white that cameras aim at
	Limits          figure.Limits        `json:"limits"`
	Within          *bool                `json:"within,omitempty"` // absent where it is not judged
	DriftSinceFirst *figure.Difference   `json:"driftSinceFirst,omitempty"`
	Drift           *setup.Drift         `json:"drift,omitempty"` // by at least 4 readings over 20 minutes
}

// CameraNow is a camera with its aim, what to dial, and what it was last set to.
type CameraNow struct {
	Camera       logbook.ID           `json:"camera"`
	Letter       string               `json:"letter"`
	Body         logbook.ID           `json:"body,omitzero"`
	BodyLabel    string               `json:"bodyLabel,omitempty"`
	Reference    bool                 `json:"reference"` // the camera that the others are matched to
	IntendedCast figure.IntendedCast  `json:"intendedCast"`
	Aim          *figure.Chromaticity `json:"aim,omitempty"`
	// ToDial is the answer: what to dial for the aim, by grey cards where they say enough of
	// the body, else by its label. Match, deviations and the plan say the same.
	ToDial *cameras.Dialled `json:"toDial,omitempty"`
	// Contested is what to dial by the other whites that count, where several were chosen apart.
	Contested []setup.OtherDial `json:"contested,omitempty"`
	Dial      *cameras.Dialled  `json:"dial,omitempty"`    // what it would be by the label alone
	Second    *cameras.Dialled  `json:"second,omitempty"`  // the next best one by the label
	Problem   string            `json:"problem,omitempty"` // why there is no aim or nothing to dial
	Caveats   []string          `json:"caveats,omitempty"` // what ToDial assumes
	// CameraError is what grey cards taught about the body for this light, and
	// DialByCards what to dial for the aim where it is counted in, be it sure or poor.
	CameraError *cameras.Error   `json:"cameraError,omitempty"`
	DialByCards *cameras.Dialled `json:"dialByCards,omitempty"`
	Last        *LastSetting     `json:"last,omitempty"`
}

// LastSetting is what a camera's newest clip in the set-up was set to, or what it was set to
// after that: then ReadOffAt says when.
type LastSetting struct {
	Clip        logbook.ID      `json:"clip,omitzero"`
	SettingsAre string          `json:"settingsAre"` // carriedOver, readOff or fromFile
	ReadOffAt   *time.Time      `json:"readOffAt,omitempty"`
	Setting     cameras.Dialled `json:"setting"`
	// Verdict is "inside" or "off" the limits of cameras, by cards where they count, or "can't
	// tell" where that hangs on what is not known of the body, or on which white counts.
	Verdict string `json:"verdict,omitempty"`
	// OffAim is how the picture lies from the aim by the label. Its words give a range where
	// something is not known, its numbers what is shown of that.
	OffAim *figure.Difference `json:"offAim,omitempty"`
	// OffAimByCards is the same with the body's error counted in, as cards taught it.
	OffAimByCards *figure.Difference `json:"offAimByCards,omitempty"`
	OffCamera     *figure.Difference `json:"offReferenceCamera,omitempty"`
	Problem       string             `json:"problem,omitempty"`
}

// Now is what is known of a set-up at a moment. Errors wrap ErrNoRecord. What
// cannot be computed is left out and says why in its place.
func Now(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (SetUpNow, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", setUp)
	if err != nil {
		return SetUpNow{}, err
	}
	s := newOverview(setup.Read(b, view, now))
	p := s.Current()
	n := SetUpNow{
		SetUp: view.ID, At: now.Time(), NextTake: s.NextTake(), Reference: p.Reference, ReferenceOrigin: p.Origin,
		Lights: []LightNow{}, Mixes: s.Mixes(), Cameras: []CameraNow{}, Cautions: s.Cautions(),
		Deviations: deviation.NewFinder(s.SetUp).Deviations(deviation.Acceptances(b)),
	}
	deviation.Sort(n.Deviations)
	if p.White.Known() {
		n.White = &p.InForce
	}
	roles := map[string]bool{"camera": true}
	n.Limits = append(n.Limits, s.Limits())
	for _, light := range s.Lights() {
		l := s.lightNow(p, light, logbook.Ever)
		if !roles[l.Limits.Role] {
			roles[l.Limits.Role] = true
			n.Limits = append(n.Limits, l.Limits)
		}
		if drift, err := s.Drift(light, p); err == nil {
			l.Drift = drift
		}
		n.Lights = append(n.Lights, l)
	}
	for _, camera := range s.Cameras() {
		n.Cameras = append(n.Cameras, s.cameraNow(p, camera))
	}
	n.Headline = n.headline()
	return n, nil
}

// An overview is a set-up with what was looked up of its lights.
type overview struct {
	*setup.SetUp
	lights map[lightKey]LightNow
}

func newOverview(s *setup.SetUp) *overview { return &overview{s, map[lightKey]LightNow{}} }

// lightNow is a light at a moment; Ever stands for now.
func (s *overview) lightNow(p *setup.Period, light logbook.View, moment logbook.Millis) LightNow {
	spoken := s.Light(light, moment)
	key := lightKey{p, light.ID, spoken.Reading, spoken.How}
	l, ok := s.lights[key]
	if !ok || spoken.How == lighting.Between {
		l = s.lightBy(p, light, spoken)
		s.lights[key] = l
	}
	l.On = s.Course(light).OnAt(moment)
	m := spoken.Reading
	if m == nil {
		l.Problem = spoken.Problem
		return l
	}
	if at := min(moment, s.Now()); spoken.How != lighting.After {
		words, age := s.Old(m, at)
		l.AgeMinutes = &age
		if words != "" {
			l.StaleBecause = []string{words}
		}
	}
	if moment != logbook.Ever {
		l.When = spoken.When()
	}
	return l
}

type lightKey struct {
	period  *setup.Period
	light   logbook.ID
	reading *lighting.Reading
	how     string
}

// lightBy is a light by what is said of it, without what depends on the moment alone.
func (s *overview) lightBy(p *setup.Period, light logbook.View, spoken lighting.Spoken) LightNow {
	l := LightNow{Light: light.ID, Name: light.Text("name"), Role: light.Text("role"),
		Intent: lighting.Intent(light), Limits: s.RoleLimits(light)}
	m := spoken.Reading
	if m == nil {
		return l
	}
	taken := m.TakenAt.Time()
	l.Reading, l.TakenAt, l.IlluminanceLux, l.FloorXY = m.Reading, &taken, spoken.Lux, &m.FloorXY
	if l.Color, l.How = spoken.Color, spoken.How; spoken.Next != nil {
		l.NextReading = spoken.Next.Reading
	}
	if d, _, ok := s.MovedSince(light, spoken, p); ok {
		l.DriftSinceFirst = &d
	}
	s.judge(&l, p, light)
	return l
}

// judge compares the colour of a light with what it is meant to be.
func (s *overview) judge(l *LightNow, p *setup.Period, light logbook.View) {
	judged := l.Cast
	if p.Reference != nil {
		cast := figure.CastDifference(l.Color.XY, p.Reference.XY)
		l.Cast, judged = &cast, &cast
		l.Picture = figure.SwatchOf(l.Color.XY, s.WantedWhite(p))
	}
	switch l.Intent {
	case "leave":
		return
	case "holdOwnColor":
		target, _, _, err := s.OwnColor(light)
		if err != nil {
			return
		}
		off := figure.ColorDifference(l.Color.XY, target)
		l.OffOwnColor, judged = &off, &off
	}
	if judged != nil {
		_, beyond := l.Limits.Exceeded(*judged)
		within := !beyond
		l.Within = &within
	}
}

func (s *overview) cameraNow(p *setup.Period, camera logbook.View) CameraNow {
	aim := s.Aim(p, camera.ID)
	c := CameraNow{Camera: camera.ID, Letter: camera.Text("letter"), Reference: camera.ID == s.ReferenceCamera(),
		IntendedCast: aim.IntendedCast, Aim: aim.Aim, Problem: aim.Problem}
	body, ok := cameras.BodyNow(s.Book(), camera)
	if ok {
		c.Body, c.BodyLabel = body.ID, body.Text("label")
	}
	if c.Aim != nil {
		if err := s.dialNow(&c, camera, body, p); err != nil {
			c.Problem = err.Error()
		}
	}
	c.Contested = s.OtherDials(camera, body, p)
	c.Last = s.lastNow(p, camera, aim)
	return c
}

func (s *overview) dialNow(c *CameraNow, camera, body logbook.View, p *setup.Period) error {
	d, err := s.ToDial(camera, body, p)
	if err != nil {
		return err
	}
	c.ToDial, c.CameraError, c.Caveats = &d.Best, d.Learnt, d.Caveats
	if label, err := s.LabelDial(d, body, p); err == nil {
		c.Dial, c.Second = &label.Best, label.Second
	}
	if cards, err := s.CardDial(d, body, p); err == nil {
		c.DialByCards = &cards.Best
	}
	return nil
}

// whiteStanding is the white of a camera as it stands.
func (s *overview) whiteStanding(p *setup.Period, camera logbook.View, l setup.Standing) setup.SettingWhite {
	clip, shot := s.Book().RecordOf(kinds.Clip, l.Clip)
	if !shot {
		return s.WhitePlanned(camera, l.Body, p, l.Setting)
	}
	return s.WhiteAtClip(clip, l.Body, l.Setting)
}

func (s *overview) lastNow(p *setup.Period, camera logbook.View, aim setup.Aim) *LastSetting {
	stands := s.Stands(camera)
	set, body, clip, ok := stands.Setting, stands.Body, stands.Clip, stands.Known
	if !ok {
		return nil
	}
	view, _ := s.Book().RecordOf(kinds.Clip, clip)
	label := s.Memo().Label(set, body)
	l := &LastSetting{Clip: clip, SettingsAre: view.Text("settingsAre"), Setting: label.Dialled}
	if l.SettingsAre == "" {
		l.SettingsAre = "carriedOver"
	}
	if stands.ReadOff != nil {
		at := stands.ReadOff.Time()
		l.SettingsAre, l.ReadOffAt = "readOff", &at
	}
	w := s.whiteStanding(p, camera, stands)
	if off := s.OffAim(p, camera.ID, w.Possible); len(off) > 0 {
		l.Verdict = figure.VerdictWords[s.Limits().Judge(off).Verdict]
	}
	if label.Err != nil {
		l.Problem = label.Err.Error()
		return l
	}
	if aim.Aim != nil {
		if want, err := aim.Aim.CCTDuv(); err == nil {
			d := figure.PictureDifference(label.White, want, p.Reference)
			if off := s.OffAim(p, camera.ID, label.Possible); len(off) > 0 {
				d.Words = figure.RangeWords(off)
			}
			l.OffAim = &d
			if w.Learnt != nil {
				d := figure.PictureDifference(w.White, want, p.Reference)
				l.OffAimByCards = &d
			}
		}
	}
	if to, ok := s.Book().RecordOf(kinds.Camera, s.ReferenceCamera()); ok && s.ReferenceCamera() != camera.ID {
		if other := s.Stands(to); other.Known {
			if a := s.Memo().Label(other.Setting, other.Body); a.Err == nil {
				d := figure.PictureDifference(label.White, a.White, p.Reference)
				l.OffCamera = &d
			}
		}
	}
	return l
}
