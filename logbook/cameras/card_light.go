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
	sample, ok := b.RecordOf(kinds.Sample, id)
	if !ok {
		return xy, o, fmt.Errorf("%w: the sample is not in the log", figure.ErrUnknown)
	}
	o.Records = append(o.Records, sample.ID)
	c, err := cardOf(b, sample)
	if c.Reading == nil {
		if err != nil {
			return xy, o, fmt.Errorf("the light on the card was not measured, and its picture: %w", err)
		}
		xy, err = c.pictured(b, &o, known)
		return xy, o, err
	}
	if c.Reading.Color == nil {
		return xy, o, fmt.Errorf("%w: the light on the card: %s", figure.ErrUnknown, c.Reading.Problem)
	}
	o.Method, o.Confidence = "the measured light on the card", "measured"
	c.Reading.NoteIn(&o, at)
	return c.Reading.Color.XY, o, nil
}

// pictured is the light on the card by its picture.
func (c *Card) pictured(b *logbook.Book, o *figure.Origin, known Known) (colorimetry.XY, error) {
	label, err := c.Label()
	if err != nil {
		return colorimetry.XY{}, fmt.Errorf("the light on the card was not measured: %w", err)
	}
	o.Method, o.Confidence = "the picture of the card and the label of the camera's setting", "label"
	if known.Counts == nil && known.Weights == nil {
		known.Counts = func(o *Card) bool { return o.At <= c.At }
	}
	if e, ok := ErrorByCards(b, c.Body, ErrorQuery{Mode: c.mode, Glass: c.glass, Label: label, At: c.At, Known: known}); ok {
		o.Method, o.Confidence = "the picture of the card and what earlier cards say of the camera", "computed"
		o.Caveats = append(o.Caveats, "camera error "+e.Words)
		if label, err = e.Moves(label); err != nil {
			return colorimetry.XY{}, err
		}
	}
	xy, err := c.LightBehind(label)
	if err != nil {
		return xy, fmt.Errorf("the picture of the card: %w", err)
	}
	return xy, nil
}
