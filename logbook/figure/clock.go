package figure

import (
	"fmt"
	"time"
)

// ClockIn is a time of day as it was on the set: "17:38 UTC+1". A time zone by its name
// would need tables that a phone has in another version.
func ClockIn(t time.Time, zone *time.Location) string {
	t = t.In(zone)
	return t.Format("15:04 ") + UTCOffset(t)
}

// OffsetOf is the offset of a time that was parsed, and not the zone of this machine that
// happens to have it.
func OffsetOf(t time.Time) *time.Location {
	_, east := t.Zone()
	return time.FixedZone("", east)
}

// UTCOffset names the offset of a time: "UTC", "UTC+1", "UTC-3:30".
func UTCOffset(t time.Time) string {
	_, east := t.Zone()
	if east == 0 {
		return "UTC"
	}
	sign, minutes := "+", east/60
	if east < 0 {
		sign, minutes = "-", -minutes
	}
	words := fmt.Sprintf("UTC%s%d", sign, minutes/60)
	if rest := minutes % 60; rest != 0 {
		words += fmt.Sprintf(":%02d", rest)
	}
	return words
}

// AgeWords says an age as people do: nobody counts 380227 minutes.
func AgeWords(minutes float64) string {
	switch {
	case minutes < 120:
		return fmt.Sprintf("%.0f min", minutes)
	case minutes < 48*60:
		return fmt.Sprintf("%.0f h", minutes/60)
	}
	return fmt.Sprintf("%.0f days", minutes/(24*60))
}
