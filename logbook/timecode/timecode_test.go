package timecode

import (
	"errors"
	"testing"
)

func rate(t *testing.T, name string, drop bool) Rate {
	t.Helper()
	r, err := RateOf(name, drop)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Counts that SMPTE ST 12-1 gives: 107,892 frames in an hour with numbers dropped.
func TestFramesOfAnHour(t *testing.T) {
	for _, c := range []struct {
		name string
		drop bool
		hour int64
	}{
		{"23.976", false, 86400}, {"24", false, 86400}, {"25", false, 90000}, {"29.97", true, 107892}, {"29.97", false, 108000},
		{"30", false, 108000}, {"50", false, 180000}, {"59.94", true, 215784}, {"60", false, 216000},
	} {
		r := rate(t, c.name, c.drop)
		if got, err := r.Frames("01:00:00:00"); err != nil || got != c.hour || r.Day() != 24*c.hour {
			t.Errorf("%s: got %d frames in an hour and %d in a day (%v), want %d", r, got, r.Day(), err, c.hour)
		}
	}
}

// Every frame of a day has one name, and every name that is not dropped one frame.
func TestEveryFrameHasOneName(t *testing.T) {
	for _, c := range []struct {
		name string
		drop bool
	}{{"29.97", true}, {"59.94", true}, {"25", false}} {
		r := rate(t, c.name, c.drop)
		for n := int64(0); n < r.Day()/24*2; n++ {
			if got, err := r.Frames(r.Text(n)); err != nil || got != n {
				t.Fatalf("%s: frame %d is called %s, which is frame %d (%v)", r, n, r.Text(n), got, err)
			}
		}
		if got := r.Text(r.Day()); got != r.Text(0) {
			t.Errorf("%s: after a day it is %s", r, got)
		}
	}
}

func TestKnownNames(t *testing.T) {
	r := rate(t, "29.97", true)
	for n, want := range map[int64]string{1799: "00:00:59;29", 1800: "00:01:00;02", 17981: "00:09:59;29", 17982: "00:10:00;00",
		-1: "23:59:59;29"} {
		if got := r.Text(n); got != want {
			t.Errorf("frame %d: got %s, want %s", n, got, want)
		}
	}
}

func TestImpossibleTimecodesAreRefused(t *testing.T) {
	for _, c := range []struct {
		rate string
		drop bool
		text string
	}{
		{"25", false, "10:00:00:59"}, {"25", false, "10:00:00:25"}, {"25", false, "10:00:00;24"}, {"29.97", true, "00:01:00;00"},
		{"29.97", true, "00:01:00:01"}, {"59.94", true, "00:59:00;03"}, {"25", false, "24:00:00:00"}, {"25", false, "10:60:00:00"},
		{"25", false, "10:00:60:00"}, {"25", false, "1:00:00:00"}, {"25", false, ""}, {"25", false, "10:00:00:00 "}, {"25", false, "-1:00:00:00"},
		{"29.97", true, "00;01:00:02"}, {"25", false, "10:00:00:1x"}, {"25", false, "10:00:0 :10"},
	} {
		if got, err := rate(t, c.rate, c.drop).Frames(c.text); !errors.Is(err, ErrImpossible) {
			t.Errorf("%q at %s: got frame %d, %v; want ErrImpossible", c.text, c.rate, got, err)
		}
	}
	for _, c := range []struct {
		name string
		drop bool
	}{{"25", true}, {"23.976", true}, {"48", false}, {"", false}} {
		if _, err := RateOf(c.name, c.drop); !errors.Is(err, ErrImpossible) {
			t.Errorf("%q, drop %v: got %v, want ErrImpossible", c.name, c.drop, err)
		}
	}
	r := rate(t, "29.97", true)
	if _, err := r.Frames("00:10:00;00"); err != nil {
		t.Errorf("at a tenth minute nothing is dropped: %v", err)
	}
}

func TestASpanMayGoOverMidnight(t *testing.T) {
	r := rate(t, "25", false)
	if from, frames, err := r.Span("23:59:50:00", "00:00:10:00"); err != nil || frames != 500 || from != r.Day()-250 {
		t.Errorf("over midnight: got %d frames from %d, %v", frames, from, err)
	}
	if _, frames, err := r.Span("10:00:00:00", "10:00:00:00"); err != nil || frames != 0 {
		t.Errorf("nothing: got %d frames, %v", frames, err)
	}
	if _, _, err := r.Span("10:00:00:00", "09:59:59:24"); !errors.Is(err, ErrImpossible) {
		t.Errorf("an end before its start: got %v", err)
	}
}
