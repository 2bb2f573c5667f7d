package footage

import (
	"math"
	"strconv"
	"strings"
	"time"

	"evenwhite/logbook"
)

// A moment is when a file was written, by a clock that nobody knows to be right: only
// differences between them are used.
type moment struct {
	at    int64 // ms
	grain int64 // how coarse it is, in ms; 0: no moment was said
}

func (m moment) said() bool { return m.grain > 0 }

// isoLayouts are dates with a time, in the form of ISO 8601 as programs write it.
var isoLayouts = []string{
	"2006-01-02T15:04:05.999999999Z07:00", "2006-01-02T15:04:05.999999999", "2006-01-02+15:04:05.999999999", "2006-01-02 15:04:05.999999999",
	"2006/01/02 15:04:05.999999999", "2006-01-02 15:04:05.999999999 -0700", "2006-01-02 15:04:05.999999999 -07:00",
}

const isoAllowed = "a time such as 2031-03-04T10:05:33+01:00, 2031-03-04 10:05:33, 2031-03-04 10:05 or seconds since 1970"

// momentOf reads a date with time.
func momentOf(text string) (moment, bool) {
	text = strings.TrimSpace(text)
	if m, ok := epochOf(text); ok {
		return m, true
	}
	if len(text) < 16 || text[0] < '0' || text[0] > '9' {
		return moment{}, false
	}
	for _, layout := range isoLayouts {
		if t, err := time.Parse(layout, text); err == nil {
			return moment{t.UnixMilli(), 1000}, true
		}
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04"} {
		if t, err := time.Parse(layout, text); err == nil {
			return moment{t.UnixMilli(), 60_000}, true
		}
	}
	return moment{}, false
}

// epochOf reads seconds since 1970, with a fraction or without.
func epochOf(text string) (moment, bool) {
	whole, _, _ := strings.Cut(text, ".")
	if len(whole) < 9 || len(whole) > 10 {
		return moment{}, false
	}
	seconds, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(seconds) || seconds < 0 {
		return moment{}, false
	}
	return moment{int64(seconds * 1000), 1000}, true
}

// shortDate reads the date of find -ls and ls -l: Nov 28 10:05, whose year is the one nearest to
// what the listing is about, or Nov 28 2031, which has no time and so tells no moment.
func shortDate(month, day, rest string, around logbook.Millis) (m moment, ok bool) {
	if _, err := time.Parse("Jan 2 2006", month+" "+day+" "+rest); err == nil {
		return moment{}, true
	}
	t, err := time.Parse("2006 Jan 2 15:04", "2004 "+month+" "+day+" "+rest) // a leap year
	if err != nil {
		return moment{}, false
	}
	best, least := int64(0), int64(math.MaxInt64)
	year := around.Time().UTC().Year()
	for y := year - 1; y <= year+1; y++ {
		at := time.Date(y, t.Month(), t.Day(), t.Hour(), t.Minute(), 0, 0, time.UTC).UnixMilli()
		if d := max(at-int64(around), int64(around)-at); d < least {
			best, least = at, d
		}
	}
	return moment{best, 60_000}, true
}
