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
}

// Matched is what to set, computed from what grey cards taught about both
// cameras, else from their labels. Only a second card says that they match.
type Matched struct {
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
	ToSetting cameras.Dialled      `json:"toSetting"`
	ToClip    logbook.ID           `json:"toClip,omitzero"`
	Light     *figure.Chromaticity `json:"light,omitempty"` // the light in which the pictures are compared
	Best      cameras.Dialled      `json:"best"`
	Second    *cameras.Dialled     `json:"second,omitempty"`
	Limits    figure.Limits        `json:"limits"`
	Within    bool                 `json:"within"` // the residual of Best lies within Limits
	Origin    figure.Origin        `json:"origin"`
}

const fromLabels = "from labels"

// ErrItself is wrapped where a camera is to match itself.
var ErrItself = errors.New("a camera cannot be matched to itself")

// Match says what to set on one camera so that its picture comes nearest to that of the
// other: the other's latest setting in the set-up, else its planned one, seen in the
// set-up's reference light. Where that light is not known it is inferred from the other
// camera's card. Errors wrap logbook.ErrNoRecord, ErrItself, figure.ErrUnknown or
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
	a := Matched{SetUp: setUp.ID, Camera: camera.ID, To: to.ID, Basis: fromLabels, Limits: asked.Limits()}
	if err := a.answer(asked); err != nil {
		return Matched{}, err
	}
	return a, nil
}

// answer finds what to set and how sure it is.
func (a *Matched) answer(m *matching) error {
	label, err := a.settingToMatch(m)
	if err != nil {
		return err
	}
	light, err := a.lightAtHand(m, label)
	if err != nil {
		return err
	}
	white, err := a.learn(m, label, light)
	if err != nil {
		return err
	}
	var caveats []string
	var off colorimetry.Cast
	if a.CameraError != nil {
		off = a.CameraError.Cast
	}
	a.Best, a.Second, caveats, err = m.Memo().WhatToDialWith(m.body, white, light, off)
	if err != nil {
		return err
	}
	a.Best.Why = cameras.WhyNotNearest(m.body, white, light, off, a.Best)
	a.Origin.Caveats = append(a.Origin.Caveats, caveats...)
	_, beyond := a.Limits.Exceeded(*a.Best.Residual)
	a.Within = !beyond
	a.Words = fmt.Sprintf("%s: with camera %s at %s, set camera %s to %s; its picture stays %s, %g steps; shoot a card with both to be sure",
		a.Basis, m.to.Text("letter"), a.ToSetting.Words, m.camera.Text("letter"), a.Best.Words, a.Best.Residual.Words, *a.Best.Residual.Steps)
	if a.Best.Why != "" {
		a.Words += "; " + a.Best.Why
	}
	a.compareCards(m, light)
	return nil
}

// settingToMatch finds what the other camera is set to and the white of that
// label.
func (a *Matched) settingToMatch(m *matching) (white colorimetry.CCTDuv, err error) {
	b, to := m.Book(), m.to
	s, body, clip, ok := cameras.LatestSetting(b, m.View(), to)
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
