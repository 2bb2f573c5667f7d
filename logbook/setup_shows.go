package logbook

// What a set-up that was read shows. It must not be changed.

// Book is the book that it was read from.
func (s *SetUp) Book() *Book { return s.book }

// Memo keeps what follows from the book for its bodies.
func (s *SetUp) Memo() *Memo { return s.memo }

// Now is the moment as of which it was read.
func (s *SetUp) Now() Millis { return s.now }

// View is its record; none where it stands for what belongs to no set-up.
func (s *SetUp) View() View { return s.setUp }

// Scene and Day are the records that it belongs to.
func (s *SetUp) Scene() ID { return s.scene }

func (s *SetUp) Day() ID { return s.day }

// Lights are those that stand in it.
func (s *SetUp) Lights() []View { return s.lights }

// Readings are those that count, oldest first.
func (s *SetUp) Readings() []*Measurement { return s.readings }

// Takes are all of them, by time.
func (s *SetUp) Takes() []View { return s.takes }

// Clips are those that rolled, by time; tests are left out.
func (s *SetUp) Clips() []View { return s.clips }

// Cameras are those in use, by letter.
func (s *SetUp) Cameras() []View { return s.cameras }

// ReferenceCamera is the camera that the others are matched to.
func (s *SetUp) ReferenceCamera() ID { return s.reference }

// Limits are those of cameras, also from take to take.
func (s *SetUp) Limits() Limits { return s.limits }

// Periods are the times of one white each, in which something happened; Current is that
// of the white in force.
func (s *SetUp) Periods() []*Period { return s.periods }

func (s *SetUp) Current() *Period { return s.current }
