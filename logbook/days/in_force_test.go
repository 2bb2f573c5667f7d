package days_test

import (
	"evenwhite/logbook"
	"evenwhite/logbook/setup"
)

// inForce is the white that the phone in hand shows, and names.
func (j *job) inForce() logbook.ID {
	white, _ := setup.WhiteNow(j.known(), j.setUp, j.clock)
	return white.ID
}
