package colorlog

import (
	"evenwhite/logbook/advice"
	"evenwhite/logbook/setup"
)

// correction is that of a clip, from the same reading of the set-up as its row. It is worked out
// for the first take of a clip: where a later one has another white, it is not that one's.
func (s *setUp) correction(sh *shot, first, white *setup.White) Correction {
	switch {
	case s.summary == nil:
		return Correction{Problem: "the set-up is not known"}
	case white != first && (white == nil || first == nil || white.White != first.White):
		return Correction{Problem: "the white changed within this clip: its correction is that of its first take"}
	}
	found, ok := s.corrected[sh.clip.ID]
	if !ok {
		found = correctionOf(advice.CorrectIn(s.summary.SetUp(), sh.clip))
		s.corrected[sh.clip.ID] = found
	}
	return found
}

func correctionOf(c advice.ClipCorrections, err error) Correction {
	if err != nil {
		return Correction{Problem: err.Error()}
	}
	return Correction{
		ToIntent: &c.ToIntent, ToNeutral: &c.ToNeutral, Basis: c.BasisWords, SpreadMired: c.SpreadMired, SpreadDuv: c.SpreadDuv,
		Encoding: c.Encoding, Confidence: c.Origin.Confidence, Caveats: c.Origin.Caveats, Problem: c.ToIntent.Problem,
	}
}
