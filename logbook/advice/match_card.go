package advice

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// CardCheck compares the pictures of one grey card in two cameras.
type CardCheck struct {
	Sample   logbook.ID `json:"sample"`
	ToSample logbook.ID `json:"toSample"`
	// Difference is how the picture of Camera lies from that of To.
	Difference figure.Difference `json:"difference"`
	DeltaE00   *float64          `json:"deltaE00,omitempty"` // of a mid grey
	Within     bool              `json:"within"`             // the limits of cameras
	// Second says that the camera had shot a card in this set-up before: the first
	// card teaches, the second confirms.
	Second bool `json:"second"`
}

// matching is what one question about a match is answered from.
type matching struct {
	*setup.SetUp
	camera, to logbook.View
	body       logbook.View    // of camera
	family     string          // of the lamps that make the light
	toSet      cameras.Setting // of To
	toBody     logbook.View
	toByCard   bool // the white of To is that of its card, not a label
}

// learn takes in what cards say about both cameras, and returns the white that the
// other camera really has.
func (a *Matched) learn(m *matching, label colorimetry.CCTDuv, light colorimetry.XY) (colorimetry.CCTDuv, error) {
	ask := cameras.ErrorQuery{Family: m.family, Label: label}
	if t, err := light.CCTDuv(); err == nil {
		ask.Light = t
	}
	white := label
	if body, ok := m.bodyOf(m.to); ok && !m.toByCard {
		if e, ok := m.LearntNow(m.to, body, ask); ok && a.counts(e, m.to) {
			if moved, err := e.Moves(label); err == nil {
				white, a.ToError = moved, &e
			}
		}
	}
	ask.Label, ask.White, ask.Inferred = colorimetry.CCTDuv{}, white, true
	if e, ok := m.LearntNow(m.camera, m.body, ask); ok && a.counts(e, m.camera) {
		a.CameraError = &e
	}
	a.basis(m)
	return white, nil
}

// counts reports whether cards say enough of a camera, and says where they do not.
func (a *Matched) counts(e cameras.Error, camera logbook.View) bool {
	if !e.Counts() {
		a.Origin.Caveats = append(a.Origin.Caveats, fmt.Sprintf("the cards of camera %s say too little: %s", camera.Text("letter"), e.Words))
	}
	return e.Counts()
}

func (m *matching) bodyOf(camera logbook.View) (logbook.View, bool) {
	if stands := m.Stands(camera); stands.Known {
		return stands.Body, true
	}
	return cameras.BodyNow(m.Book(), camera)
}

// basis says on what the answer rests.
func (a *Matched) basis(m *matching) {
	if a.CameraError == nil && a.ToError == nil && !m.toByCard {
		return
	}
	a.Origin.Method, a.Origin.Confidence = "grey cards of both cameras, compared in the picture", "computed"
	a.Basis = fromSamples
	// A card whose light was inferred from the other camera stands for both.
	relative := m.toByCard || a.CameraError != nil && a.ToError == nil && m.NewestCard(m.to.ID) != nil && a.Light != nil
	if a.CameraError == nil || a.ToError == nil && !relative {
		a.Basis = "from samples and a label"
		a.Origin.Method, a.Origin.Confidence = "grey cards of one camera and the label of the other", "label"
	}
	for _, e := range []*cameras.Error{a.CameraError, a.ToError} {
		if e != nil {
			a.Origin.Records = append(a.Origin.Records, e.Samples...)
		}
	}
}

// compareCards says whether the cameras match by the cards that both shot on what
// they are set to now.
func (a *Matched) compareCards(m *matching, light colorimetry.XY) {
	a.Words += "; shoot a card with both to be sure"
	mine, other := m.NewestCard(m.camera.ID), m.NewestCard(m.to.ID)
	if mine == nil || other == nil || !m.stillSet(mine, m.camera) || !m.stillSet(other, m.to) || !oneLight(mine, other) {
		return
	}
	if mine.Reading != nil && mine.Reading.Color != nil {
		light = mine.Reading.Color.XY
	}
	check, err := compareCards(mine, other, light)
	if err != nil {
		a.Origin.Caveats = append(a.Origin.Caveats, "the cards could not be compared: "+err.Error())
		return
	}
	_, beyond := a.Limits.Exceeded(check.Difference)
	check.Within = !beyond
	for _, c := range m.ShotCards() {
		check.Second = check.Second || c.Camera == mine.Camera && c.At < mine.At
	}
	a.Cards, a.Matched = &check, check.Within && check.Second
	letters := fmt.Sprintf("camera %s lies from camera %s by the cards: %s",
		m.camera.Text("letter"), m.to.Text("letter"), check.Difference.Words)
	switch {
	case a.Matched:
		a.Words = "matched by a second card: " + letters
	case check.Within:
		a.Words = letters + "; a second card is to confirm it"
	default:
		a.Words = letters + "; " + a.Words
	}
}

// stillSet reports whether the camera was not set to something else since.
func (m *matching) stillSet(c *cameras.Card, camera logbook.View) bool {
	stands := m.Stands(camera)
	if !stands.Known {
		return true
	}
	v, _ := m.Book().RecordOf(kinds.Clip, stands.Clip)
	if stands.ReadOff != nil && *stands.ReadOff > c.At {
		return stands.Setting.Key() == c.Set.Key()
	}
	return stands.Setting.Key() == c.Set.Key() || lighting.ClipTime(v) < c.At
}

// oneLight reports whether two cards were shot in the same light: of one reading,
// or within half an hour where it was not measured.
func oneLight(a, b *cameras.Card) bool {
	if a.Reading != nil && b.Reading != nil {
		return a.Reading.Reading == b.Reading.Reading
	}
	return a.Reading == nil && b.Reading == nil && math.Abs(float64(a.At-b.At)) <= cameras.TogetherMinutes*60000
}

// compareCards turns both pictures into the whites that make them of the light.
func compareCards(mine, other *cameras.Card, light colorimetry.XY) (check CardCheck, err error) {
	check.Sample, check.ToSample = mine.View.ID, other.View.ID
	var whites [2]colorimetry.CCTDuv
	var pictures [2]colorimetry.XYZ
	for i, c := range [...]*cameras.Card{mine, other} {
		s, err := colorimetry.ReadPatch(c.Patch, c.Encoding, light)
		if err != nil {
			return check, err
		}
		whites[i] = s.White
		xy, err := s.White.XY()
		if err != nil {
			return check, err
		}
		if pictures[i], err = colorimetry.Picture(light, xy, colorimetry.CAT16); err != nil {
			return check, err
		}
	}
	check.Difference = figure.PictureDifference(whites[0], whites[1], figure.ChromaticityOf(light))
	check.DeltaE00 = figure.Rounded(colorimetry.GreyDifference(pictures[0], pictures[1]), figure.DeltaDecimals)
	return check, nil
}
