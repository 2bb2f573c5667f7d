package cameras

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// LightOnCard is the light on a card, which a custom white renders neutral. Where it
// was not measured, it follows from the picture of the card and the white that the camera
// was on, by cards until then where nothing else is known. may are the lights that it may
// have been, the one that is shown first. The origin names the card also beside an error.
func LightOnCard(b *logbook.Book, id logbook.ID, at logbook.Millis, known Known) (
	xy colorimetry.XY, may []Possible, o figure.Origin, err error,
) {
	lights, o, _, err := lightsOnCard(b, id, at, known)
	if err != nil {
		return xy, nil, o, err
	}
	for _, light := range lights {
		if white, err := light.xy.CCTDuv(); err == nil {
			light.by.White = white
			may = append(may, light.by)
		}
	}
	return lights[0].xy, may, o, nil
}

// PossibleOnCard are the lights that may have been on a card, which a custom white renders
// neutral, the one that is shown first. None: it is not known.
func PossibleOnCard(b *logbook.Book, id logbook.ID, known Known) (all []Possible) {
	_, all, _, _ = LightOnCard(b, id, 0, known)
	return all
}

// BehindCard is what LightOnCard rests on, beside the card.
func BehindCard(b *logbook.Book, id logbook.ID, known Known) []Rest {
	_, _, by, _ := lightsOnCard(b, id, 0, known)
	return by
}

func lightsOnCard(b *logbook.Book, id logbook.ID, at logbook.Millis, known Known) (
	all []assumedLight, o figure.Origin, by []Rest, err error,
) {
	sample, ok := b.RecordOf(kinds.Sample, id)
	if !ok {
		return nil, o, nil, fmt.Errorf("%w: the sample is not in the log", figure.ErrUnknown)
	}
	o.Records = append(o.Records, sample.ID)
	c, err := cardOf(b, sample)
	if c.Reading == nil {
		if err != nil {
			return nil, o, nil, fmt.Errorf("the light on the card was not measured, and its picture: %w", err)
		}
		all, by, err = c.pictured(b, &o, known)
		return all, o, by, err
	}
	by = []Rest{{Record: c.Reading.Reading}}
	if c.Reading.Color == nil {
		return nil, o, by, fmt.Errorf("%w: the light on the card: %s", figure.ErrUnknown, c.Reading.Problem)
	}
	o.Method, o.Confidence = "the measured light on the card", "measured"
	c.Reading.NoteIn(&o, at)
	return []assumedLight{{xy: c.Reading.Color.XY}}, o, by, nil
}

// pictured is the light on the card by its picture, and by which cards it is known what the
// camera errs.
func (c *Card) pictured(b *logbook.Book, o *figure.Origin, known Known) (all []assumedLight, by []Rest, err error) {
	label, err := c.Label()
	if err != nil {
		return nil, nil, fmt.Errorf("the light on the card was not measured: %w", err)
	}
	o.Method, o.Confidence = "the picture of the card and the label of the camera's setting", "label"
	if known.Counts == nil && known.only() == nil {
		known.Counts = func(o *Card) bool { return o.At <= c.At }
	}
	whites := c.Set.PossibleWhites(b, c.Body)
	e, ok := ErrorByCards(b, c.Body, ErrorQuery{Mode: c.mode, Glass: c.glass, Label: label, At: c.At, Known: known})
	if ok && !e.Counts() {
		o.Caveats = append(o.Caveats, "the camera's label is taken at its word: its cards say too little, "+e.Words)
	} else if ok {
		by = e.RestsOn
		o.Method, o.Confidence = "the picture of the card and what earlier cards say of the camera", "computed"
		o.Caveats = append(o.Caveats, "camera error "+e.Words)
		if _, err = e.Moves(label); err != nil {
			return nil, by, err
		}
		whites = ByCards(whites, e)
	}
	if all, err = c.lightsBehind(whites); err != nil {
		return nil, by, fmt.Errorf("the picture of the card: %w", err)
	}
	return all, by, nil
}
