package lighting_test

import (
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/lighting"
)

func TestAnInstantMovesWithTheClockThatFilledItIn(t *testing.T) {
	const minute = logbook.Millis(60_000)
	at := logbook.MillisOf(time.Date(2026, 3, 4, 10, 0, 0, 0, time.UTC))
	for _, c := range []struct {
		name                  string
		typed, offset, become logbook.Millis
	}{
		{"filled in by a clock that is right", at, 0, at},
		{"filled in by a clock that is slow by 7 minutes", at, 7 * minute, at + 7*minute},
		{"two minutes before its entry", at - 2*minute, 7 * minute, at + 5*minute},
		{"two minutes after its entry", at + 2*minute, 7 * minute, at + 9*minute},
		{"typed from paper", at - 2*minute - 1, 7 * minute, at - 2*minute - 1},
		{"typed ahead", at + 2*minute + 1, -7 * minute, at + 2*minute + 1},
	} {
		if got := lighting.CorrectedBy(&logbook.Edit{At: at, Offset: c.offset}, c.typed); got != c.become {
			t.Errorf("%s: %d ms after the entry, want %d", c.name, got-at, c.become-at)
		}
	}
}
