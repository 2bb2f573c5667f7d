package logbook

// What a set-up that was read shows. It must not be changed.

// Book is the book that it was read from.
func (s *situation) Book() *Book { return s.book }

// Memo keeps what follows from the book for its bodies.
func (s *situation) Memo() *memo { return s.memo }

// Now is the moment as of which it was read.
func (s *situation) Now() Millis { return s.now }

// View is its record; none where it stands for what belongs to no set-up.
func (s *situation) View() View { return s.setUp }

// Scene and Day are the records that it belongs to.
func (s *situation) Scene() ID { return s.scene }

func (s *situation) Day() ID { return s.day }

// Lights are those that stand in it.
func (s *situation) Lights() []View { return s.lights }

// Readings are those that count, oldest first.
func (s *situation) Readings() []*Measurement { return s.readings }

// Takes are all of them, by time.
func (s *situation) Takes() []View { return s.takes }

// Clips are those that rolled, by time; tests are left out.
func (s *situation) Clips() []View { return s.clips }

// Cameras are those in use, by letter.
func (s *situation) Cameras() []View { return s.cameras }

// ReferenceCamera is the camera that the others are matched to.
func (s *situation) ReferenceCamera() ID { return s.reference }

// Limits are those of cameras, also from take to take.
func (s *situation) Limits() Limits { return s.limits }

// Periods are the times of one white each, in which something happened; Current is that
// of the white in force.
func (s *situation) Periods() []*period { return s.periods }

func (s *situation) Current() *period { return s.current }
