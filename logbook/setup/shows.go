package setup

import (
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// What a set-up that was read shows. It must not be changed.

// Book is the book that it was read from.
func (s *SetUp) Book() *logbook.Book { return s.book }

// Memo keeps what follows from the book for its bodies.
func (s *SetUp) Memo() *cameras.Memo { return s.memo }

// Now is the moment as of which it was read.
func (s *SetUp) Now() logbook.Millis { return s.now }

// View is its record; none where it stands for what belongs to no set-up.
func (s *SetUp) View() logbook.View { return s.setUp }

// Scene and Day are the records that it belongs to.
func (s *SetUp) Scene() logbook.ID { return s.scene }

func (s *SetUp) Day() logbook.ID { return s.day }

// Lights are those that stand in it.
func (s *SetUp) Lights() []logbook.View { return s.lights }

// LightsOn are those of them that are on.
func (s *SetUp) LightsOn() (all []logbook.View) {
	for _, light := range s.lights {
		if lighting.IsOn(light) {
			all = append(all, light)
		}
	}
	return all
}

// Readings are those that count, oldest first.
func (s *SetUp) Readings() []*lighting.Reading { return s.readings }

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
