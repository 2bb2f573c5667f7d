package logbook

// answerColors asks what one reading, sample or clip says, and for a plan, of
// whatever is in the log.
func answerColors(marshal func(string, any), b *Book, a *anything) {
	for _, setUp := range a.ids[KindSetUp] {
		if p, err := PlanSetUp(b, setUp, Minute(200)); err == nil {
			marshal("a plan", p)
		}
	}
	for _, lamp := range a.ids[KindLamp] {
		if l, err := LearntOfLamp(b, lamp, Minute(200)); err == nil {
			marshal("a lamp", l)
		}
	}
	for _, gel := range a.ids[KindGel] {
		if l, err := LearntOfGel(b, gel, Minute(200)); err == nil {
			marshal("a gel", l)
		}
	}
	for _, meter := range a.ids[KindMeter] {
		if l, err := LearntOfMeter(b, meter, Minute(200)); err == nil {
			marshal("a meter", l)
		}
	}
	for i, reading := range a.ids[KindReading] {
		other := SpectralReference{"reading", a.ids[KindReading][(i+1)%len(a.ids[KindReading])]}
		for _, reference := range []SpectralReference{{}, {Name: "daylight"}, other} {
			if c, err := ColorOfReading(b, reading, reference); err == nil {
				marshal("a reading", c)
			}
		}
	}
	for _, sample := range a.ids[KindSample] {
		if c, err := ColorOfSample(b, sample, Minute(200)); err == nil {
			marshal("a sample", c)
		}
	}
	for _, clip := range a.ids[KindClip] {
		if c, err := CorrectionsOfClip(b, clip, Minute(200)); err == nil {
			marshal("corrections", c)
		}
	}
}
