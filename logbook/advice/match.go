package advice

import (
	"errors"
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// MatchQuery asks what to set on one camera so that it matches another.
type MatchQuery struct {
	SetUp  logbook.ID `json:"setUp"`
	Camera logbook.ID `json:"camera"`      // the one to set
	To     logbook.ID `json:"to,omitzero"` // the one to match; zero: the set-up's reference camera
	// Follow asks what takes Camera to where To is, be that the aim of the set-up or not.
	Follow bool `json:"follow,omitempty"`
}

// Matched is what to set so that two cameras match. Where a white was chosen that is what
// takes Camera to its own aim, as in now and in deviations: two cameras on their aims match.
// What follows the other camera wherever it is stands in Following, and is the answer where
// it was asked for or where there is no aim. All of it is computed from what grey cards
// taught, else from labels; only a second card says that the cameras match.
type Matched struct {
	// For is "aim" where Best is for the aim of the set-up, "camera" where it follows To.
	For    string     `json:"for"`
	SetUp  logbook.ID `json:"setUp"`
	Camera logbook.ID `json:"camera"`
	To     logbook.ID `json:"to"`
	// Basis is "from samples", "from samples and a label" or "from labels".
	Basis   string `json:"basis"`
	Words   string `json:"words"`
	Matched bool   `json:"matched"` // by a second card of Camera, within Limits
	// Cards compares the newest cards of both, where they were shot in one light on
	// what the cameras are set to.
	Cards       *CardCheck     `json:"cards,omitempty"`
	CameraError *cameras.Error `json:"cameraError,omitempty"` // of Camera, counted in
	ToError     *cameras.Error `json:"toError,omitempty"`     // of To, counted in
	// ToSetting is what the other camera is set to, with the white of that label;
	// ToClip is the clip that it was taken from, zero where it is only planned.
	ToSetting cameras.Dialled `json:"toSetting"`
	// ToOffAim is how far To itself is off its aim, where that is more than Limits.
	ToOffAim *figure.Difference `json:"toOffAim,omitempty"`
	// Following is what takes Camera to where To is, where Best is for the aim.
	Following *Following           `json:"following,omitempty"`
	ToClip    logbook.ID           `json:"toClip,omitzero"`
	Light     *figure.Chromaticity `json:"light,omitempty"` // the light in which the pictures are compared
	Best      cameras.Dialled      `json:"best"`
	Second    *cameras.Dialled     `json:"second,omitempty"`
	Limits    figure.Limits        `json:"limits"`
	Within    bool                 `json:"within"` // the residual of Best lies within Limits
	Origin    figure.Origin        `json:"origin"`
}

// Following is what to set on a camera so that it follows another.
type Following struct {
	Basis       string           `json:"basis"`
	Words       string           `json:"words"`
	CameraError *cameras.Error   `json:"cameraError,omitempty"` // counted in
	Best        cameras.Dialled  `json:"best"`
	Second      *cameras.Dialled `json:"second,omitempty"`
	Within      bool             `json:"within"`
	Origin      figure.Origin    `json:"origin"`
}

// What the answer is for.
const (
	forAim    = "aim"
	forCamera = "camera"
)

const (
	fromLabels  = "from labels"
	fromSamples = "from samples"
)

// ErrItself is wrapped where a camera is to match itself.
var ErrItself = errors.New("a camera cannot be matched to itself")

// Match says what to set on one camera so that it matches the other: what takes it to its
// aim; where there is none, or where it was asked to follow, what brings its picture nearest
// to that of the other. Of that the latest setting in the set-up counts, else its planned
// one, seen in the set-up's reference light. Where that light is not known it is inferred
// from the other camera's card. Errors wrap logbook.ErrNoRecord, ErrItself, figure.ErrUnknown or
// colorimetry.ErrDomain and say what is missing.
func Match(b *logbook.Book, m MatchQuery, now logbook.Millis) (Matched, error) {
	setUp, err := logbook.FindRecord(b, kinds.SetUp, "setUp", m.SetUp)
	if err != nil {
		return Matched{}, err
	}
	camera, err := logbook.FindRecord(b, kinds.Camera, "camera", m.Camera)
	if err != nil {
		return Matched{}, err
	}
	if m.To.IsZero() {
		m.To = cameras.Reference(b, setUp)
	}
	to, err := logbook.FindRecord(b, kinds.Camera, "to", m.To)
	if err != nil {
		return Matched{}, err
	}
	if to.ID == camera.ID {
		return Matched{}, fmt.Errorf("%w: camera and to are both %s, allowed are two cameras", ErrItself, camera.Text("letter"))
	}
	body, ok := cameras.BodyNow(b, camera)
	if !ok {
		return Matched{}, fmt.Errorf("%w: camera %s has no body", figure.ErrUnknown, camera.Text("letter"))
	}
	asked := &matching{SetUp: setup.Read(b, setUp, now), camera: camera, to: to, body: body}
	a := Matched{For: forCamera, SetUp: setUp.ID, Camera: camera.ID, To: to.ID, Basis: fromLabels, Limits: asked.Limits()}
	light, unfollowed := a.follow(asked)
	if !m.Follow {
		if aimed, ok := asked.toAim(a, unfollowed); ok {
			a, light, unfollowed = aimed, asked.Current().Reference.XY, nil
		} else {
			a.Words += fmt.Sprintf("; there is no aim here, so that %s follows %s", camera.Text("letter"), to.Text("letter"))
		}
	}
	if unfollowed != nil {
		return Matched{}, unfollowed
	}
	a.compareCards(asked, light)
	return a, nil
}

// follow finds what takes the camera to where the other is, and how sure it is.
func (a *Matched) follow(m *matching) (light colorimetry.XY, err error) {
	label, err := a.settingToMatch(m)
	if err != nil {
		return light, err
	}
	if light, err = a.lightAtHand(m, label); err != nil {
		return light, err
	}
	white, err := a.learn(m, label, light)
	if err != nil {
		return light, err
	}
	var caveats []string
	var off colorimetry.Cast
	if a.CameraError != nil {
		off = a.CameraError.Cast
	}
	a.Best, a.Second, caveats, err = m.Memo().WhatToDialWith(m.body, white, light, off)
	if err != nil {
		return light, err
	}
	a.Best.Why = cameras.WhyNotNearest(m.body, white, light, off, a.Best)
	a.Origin.Caveats = append(a.Origin.Caveats, caveats...)
	a.say(fmt.Sprintf("with camera %s at %s, set camera %s to %s",
		m.to.Text("letter"), a.ToSetting.Words, m.camera.Text("letter"), a.Best.Words))
	return light, nil
}

// say judges what is left on the best setting and writes the sentence.
func (a *Matched) say(what string) {
	_, beyond := a.Limits.Exceeded(*a.Best.Residual)
	a.Within = !beyond
	a.Words = fmt.Sprintf("%s: %s; its picture stays %s, %g steps", a.Basis, what, a.Best.Residual.Words, *a.Best.Residual.Steps)
	if a.Best.Why != "" {
		a.Words += "; " + a.Best.Why
	}
}

// toAim makes the answer that takes the camera to its aim, beside what follows the other;
// ok is false where there is no aim.
func (m *matching) toAim(following Matched, unfollowed error) (a Matched, ok bool) {
	d, err := m.ToDial(m.camera, m.body, m.Current())
	if err != nil {
		return a, false
	}
	a = following
	a.For, a.Basis, a.CameraError, a.Best, a.Second = forAim, fromLabels, nil, d.Best, d.Second
	a.Origin = figure.Origin{Method: "the aim of the set-up and the label of the camera", Confidence: "label",
		Records: []logbook.ID{m.Current().White.ID}, Caveats: d.Caveats}
	if d.ByCards {
		a.Basis, a.CameraError = fromSamples, d.Learnt
		a.Origin.Method, a.Origin.Confidence = "the aim of the set-up and grey cards of the camera", "computed"
		a.Origin.Records = append(a.Origin.Records, d.Learnt.Samples...)
	}
	a.Light = m.Current().Reference
	a.say(fmt.Sprintf("set camera %s to %s for its aim", m.camera.Text("letter"), a.Best.Words))
	for _, other := range m.OtherDials(m.camera, m.body, m.Current()) {
		a.Words += "; contested: " + other.Words
	}
	if unfollowed != nil {
		a.ToSetting.Words = "not known"
		a.Origin.Caveats = append(a.Origin.Caveats, unfollowed.Error())
		return a, true
	}
	a.Following = &Following{Basis: following.Basis, Words: following.Words, CameraError: following.CameraError,
		Best: following.Best, Second: following.Second, Within: following.Within, Origin: following.Origin}
	a.sayOther(m)
	return a, true
}

// sayOther adds how far the other camera is off its own aim.
func (a *Matched) sayOther(m *matching) {
	white := m.WhitePlanned(m.to, m.toBody, m.Current(), m.toSet)
	if clip, ok := m.Book().RecordOf(kinds.Clip, a.ToClip); ok {
		white = m.WhiteAtClip(clip, m.toBody, m.toSet)
	}
	off := m.OffAim(m.Current(), m.to.ID, white.Possible)
	if len(off) == 0 {
		return
	}
	letter := m.to.Text("letter")
	switch judged := a.Limits.Judge(off); judged.Verdict {
	case figure.Beyond:
		judged.Least.Words = judged.Words
		a.ToOffAim = &judged.Least
		a.Words += fmt.Sprintf("; camera %s itself is %s", letter, a.Limits.Too(judged.Least))
	case figure.CantTell:
		a.Words += fmt.Sprintf("; whether camera %s itself is on its aim can't be told", letter)
	}
}

// settingToMatch finds what the other camera is set to and the white of that
// label.
func (a *Matched) settingToMatch(m *matching) (white colorimetry.CCTDuv, err error) {
	b, to := m.Book(), m.to
	stands := m.Stands(to)
	s, body, clip, ok := stands.Setting, stands.Body, stands.Clip, stands.Known
	if c := m.NewestCard(to.ID); !ok && c != nil && c.Set.Complete() {
		s, body, ok = c.Set, c.Body, true
		a.Origin.Caveats = append(a.Origin.Caveats, "the setting is that of its card")
	}
	if !ok {
		body, ok = cameras.BodyNow(b, to)
		s = cameras.PlannedSetting(b, m.View(), to)
		if !ok || !s.Complete() {
			return white, fmt.Errorf("%w: camera %s has neither a clip with settings nor a planned kelvin in this set-up",
				figure.ErrUnknown, to.Text("letter"))
		}
		a.Origin.Caveats = append(a.Origin.Caveats, "the setting is only planned")
	}
	white, caveats, err := s.LabelWhite(b, body)
	if err != nil {
		shot := m.NewestCard(to.ID)
		if shot == nil || shot.Reading == nil || shot.Reading.Color == nil || !m.stillSet(shot, to) {
			return white, fmt.Errorf("camera %s: %w", to.Text("letter"), err)
		}
		// A setting without a label has a white all the same: that of its card.
		sample, unread := colorimetry.ReadPatch(shot.Patch, shot.Encoding, shot.Reading.Color.XY)
		if unread != nil {
			return white, fmt.Errorf("camera %s: %w; and its card: %w", to.Text("letter"), err, unread)
		}
		white, m.toByCard = sample.White, true
		caveats = []string{"the setting has no label: the white is that of its card"}
	}
	m.toSet, m.toBody = s, body
	m.toByCard = m.toByCard || s.Mode == "customFromCard"
	a.ToSetting, a.ToClip = s.InDialled(b, body), clip
	a.Origin.Method, a.Origin.Confidence = "the labels of both cameras, compared in the picture", "label"
	a.Origin.Caveats = append(a.Origin.Caveats, caveats...)
	if !clip.IsZero() {
		a.Origin.Records = []logbook.ID{clip}
	}
	return white, nil
}

// lightAtHand is the set-up's reference; where that is not known, the light on the card of
// the other camera, else the light that the other camera renders neutral.
func (a *Matched) lightAtHand(m *matching, label colorimetry.CCTDuv) (colorimetry.XY, error) {
	light, origin := m.Current().InForce.Color, m.Current().InForce.Origin
	if light == nil {
		light, origin, _ = m.ReferenceAt(m.Now())
	}
	m.family = lighting.FamilyOfOrigin(m.Book(), origin)
	if c := m.NewestCard(m.to.ID); light == nil && c != nil && c.Reading == nil {
		if white, err := c.White(m.Book(), cameras.Known{}); err == nil {
			if xy, err := c.LightBehind(white); err == nil && xy.Check() == nil {
				light = figure.ChromaticityOf(xy)
				a.Origin.Caveats = append(a.Origin.Caveats, "the light was not measured: it was inferred from the card of the other camera")
			}
		}
	}
	if light == nil {
		a.Origin.Caveats = append(a.Origin.Caveats, "the light is not known: the light that the other camera renders neutral was taken")
		return label.XY()
	}
	a.Light = light
	return light.XY, nil
}
