package days_test

import (
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// inForce is the white that the phone in hand shows, and names.
func (j *job) inForce() logbook.ID {
	view, _ := j.known().RecordOf(kinds.SetUp, j.setUp)
	return setup.Read(j.known(), view, j.clock).Current().White.ID
}
