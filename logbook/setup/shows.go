package setup

import (
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
)

// What a set-up that was read shows. It must not be changed.

// Book is the book that it was read from.
func (s *SetUp) Book() *logbook.Book { return s.book }

// Memo keeps what follows from the book for its bodies.
func (s *SetUp) Memo() *cameras.Memo { return s.memo }

// Now is the time by the wall clock: for ages and forecasts alone.
func (s *SetUp) Now() logbook.Millis {
	s.reader.byClock = true
	return s.now
}

// asked is a moment, or now where that is earlier.
func (s *SetUp) asked(at logbook.Millis) logbook.Millis {
	if at <= s.now {
		return at
	}
	return s.Now()
}

// Moment is that for which it was read: Ever for all that is in the book, else the wrap.
func (s *SetUp) Moment() logbook.Millis { return s.upTo }

// View is its record; none where it stands for what belongs to no set-up.
func (s *SetUp) View() logbook.View { return s.setUp }

// Scene and Day are the records that it belongs to.
func (s *SetUp) Scene() logbook.ID { return s.scene }

func (s *SetUp) Day() logbook.ID { return s.day }

// IsOn reports whether a light is on at the moment for which it was read.
func (s *SetUp) IsOn(light logbook.View) bool { return s.Course(light).OnAt(s.upTo) }

// LightsOn are the lights that are on at the moment for which it was read.
func (s *SetUp) LightsOn() []logbook.View { return s.LightsOnAt(s.upTo) }

// Takes are all of them, by time.
func (s *SetUp) Takes() []logbook.View { return s.takes }

// Clips are those that rolled, by time; tests are left out.
func (s *SetUp) Clips() []logbook.View { return s.clips }

// Cameras are those in use, by letter.
func (s *SetUp) Cameras() []logbook.View { return s.cameras }

// ReferenceCamera is the camera that the others are matched to.
func (s *SetUp) ReferenceCamera() logbook.ID { return s.reference }

// Limits are those of cameras, also from take to take.
func (s *SetUp) Limits() figure.Limits { return s.limits }

// Periods are the times of one white each, in which something happened; Current is that
// of the white in force.
func (s *SetUp) Periods() []*Period { return s.periods }

func (s *SetUp) Current() *Period { return s.current }
