package handset

import (
	"time"

	"evenwhite/logbook/glance"
	"evenwhite/logbook/picture"
	"evenwhite/logbook/setup"
)

// drawn is an answer with its picture as SVG in the bytes, where the message asks to draw.
func drawn(s *said, answer any, err error, pen func() []byte) (any, []byte, error) {
	draw := s.flag("draw")
	if fault := s.fault(); err == nil {
		err = fault
	}
	if err != nil || !draw {
		return answer, nil, err
	}
	return answer, pen(), nil
}

func (e *Engine) plane(s *said, _ []byte) (any, []byte, error) {
	answer, _, err := about(e, s, "setUp", glance.Plane)
	return drawn(s, answer, err, func() []byte { return picture.Plane(*answer.(*glance.SetUpPlane)) })
}

func (e *Engine) swatches(s *said, _ []byte) (any, []byte, error) {
	answer, _, err := about(e, s, "setUp", glance.Swatches)
	return drawn(s, answer, err, func() []byte { return picture.Swatches(*answer.(*glance.SetUpSwatches)) })
}

// drift draws in the set's time: the page says its offset, for tables of zones differ from
// phone to phone, and are large.
func (e *Engine) drift(s *said, _ []byte) (any, []byte, error) {
	setUp, light, now := s.id("setUp"), s.optional("light"), s.now()
	minutes := s.whole("zoneMinutes", -18*60, 18*60, 0)
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	answer, err := setup.Drifts(e.book(), setUp, light, now)
	return drawn(s, &answer, err, func() []byte { return picture.Drift(answer, time.FixedZone(answer.TimeZone, int(minutes)*60)) })
}
