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
// was on, by cards until then where nothing else is known. The origin names the card also
// beside an error.
func LightOnCard(b *logbook.Book, id logbook.ID, at logbook.Millis, known Known) (xy colorimetry.XY, o figure.Origin, err error) {
	xy, o, _, err = lightOnCard(b, id, at, known)
	return xy, o, err
}

// BehindCard is what LightOnCard rests on, beside the card.
func BehindCard(b *logbook.Book, id logbook.ID, known Known) []Rest {
	_, _, by, _ := lightOnCard(b, id, 0, known)
	return by
}

func lightOnCard(b *logbook.Book, id logbook.ID, at logbook.Millis, known Known) (
	xy colorimetry.XY, o figure.Origin, by []Rest, err error,
) {
	sample, ok := b.RecordOf(kinds.Sample, id)
	if !ok {
		return xy, o, nil, fmt.Errorf("%w: the sample is not in the log", figure.ErrUnknown)
	}
	o.Records = append(o.Records, sample.ID)
	c, err := cardOf(b, sample)
	if c.Reading == nil {
		if err != nil {
			return xy, o, nil, fmt.Errorf("the light on the card was not measured, and its picture: %w", err)
		}
		xy, by, err = c.pictured(b, &o, known)
		return xy, o, by, err
	}
	by = []Rest{{Record: c.Reading.Reading}}
	if c.Reading.Color == nil {
		return xy, o, by, fmt.Errorf("%w: the light on the card: %s", figure.ErrUnknown, c.Reading.Problem)
	}
	o.Method, o.Confidence = "the measured light on the card", "measured"
	c.Reading.NoteIn(&o, at)
	return c.Reading.Color.XY, o, by, nil
}

// pictured is the light on the card by its picture, and by which cards it is known what the
// camera errs.
func (c *Card) pictured(b *logbook.Book, o *figure.Origin, known Known) (xy colorimetry.XY, by []Rest, err error) {
	label, err := c.Label()
	if err != nil {
		return xy, nil, fmt.Errorf("the light on the card was not measured: %w", err)
	}
	o.Method, o.Confidence = "the picture of the card and the label of the camera's setting", "label"
	if known.Counts == nil && known.only() == nil {
		known.Counts = func(o *Card) bool { return o.At <= c.At }
	}
	e, ok := ErrorByCards(b, c.Body, ErrorQuery{Mode: c.mode, Glass: c.glass, Label: label, At: c.At, Known: known})
	if ok && !e.Counts() {
		o.Caveats = append(o.Caveats, "the camera's label is taken at its word: its cards say too little, "+e.Words)
	} else if ok {
		by = e.RestsOn
		o.Method, o.Confidence = "the picture of the card and what earlier cards say of the camera", "computed"
		o.Caveats = append(o.Caveats, "camera error "+e.Words)
		if label, err = e.Moves(label); err != nil {
			return xy, by, err
		}
	}
	if xy, err = c.LightBehind(label); err != nil {
		return xy, by, fmt.Errorf("the picture of the card: %w", err)
	}
	return xy, by, nil
}
