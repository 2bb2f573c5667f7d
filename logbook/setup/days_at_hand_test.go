//go:build !js

package setup_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// What a set-up takes of all clips of its day is kept for the next ones, and not to the end of the job.
func TestAReaderKeepsFewDays(t *testing.T) {
	b := logbook.NewBook(growth.Production, kinds.Rules)
	for _, e := range growth.LongJob(9) {
		if err := b.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	r := setup.NewReader(b)
	for _, view := range b.Records(kinds.SetUp) {
		s := r.ReadForRows(view)
		for _, clip := range s.Clips() {
			s.NamedAlike(clip)
		}
	}
	if names, last := r.DaysAtHand(); names == 0 || names > 4 || last == 0 || last > 4 {
		t.Errorf("of nine days it keeps the names of %d and the last clips of %d, want at most four each", names, last)
	}
}
