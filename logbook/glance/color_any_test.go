package glance_test

import (
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// answerColors asks what one reading, sample or clip says, and for a plan, of
// whatever is in the log.
func answerColors(marshal func(string, any), b *logbook.Book, a *anything) {
	for _, setUp := range a.ids[kinds.SetUp] {
		if p, err := advice.Plan(b, setUp, stage.Minute(200)); err == nil {
			marshal("a plan", p)
		}
	}
	for _, lamp := range a.ids[kinds.Lamp] {
		if l, err := lighting.LearntOfLamp(b, lamp, stage.Minute(200)); err == nil {
			marshal("a lamp", l)
		}
	}
	for _, gel := range a.ids[kinds.Gel] {
		if l, err := lighting.LearntOfGel(b, gel, stage.Minute(200)); err == nil {
			marshal("a gel", l)
		}
	}
	for _, meter := range a.ids[kinds.Meter] {
		if l, err := lighting.LearntOfMeter(b, meter, stage.Minute(200)); err == nil {
			marshal("a meter", l)
		}
	}
	for i, reading := range a.ids[kinds.Reading] {
		other := lighting.SpectralReference{Name: "reading", Reading: a.ids[kinds.Reading][(i+1)%len(a.ids[kinds.Reading])]}
		for _, reference := range []lighting.SpectralReference{{}, {Name: "daylight"}, other} {
			if c, err := lighting.ColorOfReading(b, reading, reference); err == nil {
				marshal("a reading", c)
			}
		}
	}
	for _, sample := range a.ids[kinds.Sample] {
		if c, err := cameras.ColorOfSample(b, sample, stage.Minute(200)); err == nil {
			marshal("a sample", c)
		}
	}
	for _, clip := range a.ids[kinds.Clip] {
		if c, err := advice.Correct(b, clip, stage.Minute(200)); err == nil {
			marshal("corrections", c)
		}
	}
}
