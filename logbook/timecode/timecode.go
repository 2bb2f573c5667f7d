package timecode

import (
	"errors"
	"fmt"
	"strings"
)

// ErrImpossible is wrapped by errors about what cannot be at a rate.
var ErrImpossible = errors.New("there is no such timecode")

// A Rate is how frames are counted.
type Rate struct {
	name string
	base int64 // numbers of frames in a second of the count
	drop int64 // numbers that are left out at a full minute, but for each tenth
}

var bases = map[string]int64{"23.976": 24, "24": 24, "25": 25, "29.97": 30, "30": 30, "50": 50, "59.94": 60, "60": 60}

// RateOf is the rate of a name such as 29.97. Numbers are dropped at 29.97 and 59.94 alone.
func RateOf(name string, drop bool) (Rate, error) {
	base, ok := bases[name]
	if !ok {
		return Rate{}, fmt.Errorf("%w: the rate is %q, allowed are 23.976, 24, 25, 29.97, 30, 50, 59.94, 60", ErrImpossible, name)
	}
	r := Rate{name: name, base: base}
	if drop {
		if name != "29.97" && name != "59.94" {
			return Rate{}, fmt.Errorf("%w: the rate is %s with numbers dropped, which is done at 29.97 and 59.94 alone", ErrImpossible, name)
		}
		r.drop = base / 15
	}
	return r, nil
}

// Day is how many frames a day of the count has.
func (r Rate) Day() int64 { return 24 * 6 * r.tenMinutes() }

func (r Rate) tenMinutes() int64 { return 600*r.base - 9*r.drop }

// Frames counts the frames from midnight to a timecode. A ; before the frames says that numbers are
// dropped, a : says nothing.
func (r Rate) Frames(text string) (int64, error) {
	impossible := func(why string) (int64, error) {
		return 0, fmt.Errorf("%w: %q at %s: %s", ErrImpossible, text, r, why)
	}
	var parts [4]int64
	for i := range text {
		switch c := text[i]; {
		case len(text) != 11, i%3 == 2 && c != ':' && c != ';', i%3 < 2 && (c < '0' || c > '9'):
			return impossible("allowed is hh:mm:ss:ff")
		case i%3 < 2:
			parts[i/3] = 10*parts[i/3] + int64(c-'0')
		}
	}
	h, m, s, f := parts[0], parts[1], parts[2], parts[3]
	switch {
	case text == "":
		return impossible("allowed is hh:mm:ss:ff")
	case h > 23 || m > 59 || s > 59:
		return impossible("allowed is 00:00:00:00 to 23:59:59 and the last frame")
	case f >= r.base:
		return impossible(fmt.Sprintf("frames go from 00 to %02d", r.base-1))
	case strings.Contains(text[:8], ";"), text[8] == ';' && r.drop == 0:
		return impossible("; stands before the frames where numbers are dropped, and nowhere else")
	case f < r.drop && s == 0 && m%10 != 0:
		return impossible("this number is dropped")
	}
	minutes := 60*h + m
	return (minutes*60+s)*r.base + f - r.drop*(minutes-minutes/10), nil
}

func (r Rate) String() string {
	if r.drop > 0 {
		return r.name + " drop"
	}
	return r.name
}

// Text is the timecode after so many frames; after a day it begins anew.
func (r Rate) Text(frames int64) string {
	frames = ((frames % r.Day()) + r.Day()) % r.Day()
	tens, left := frames/r.tenMinutes(), frames%r.tenMinutes()
	minute := 60*r.base - r.drop // of those with numbers dropped
	if first := 60 * r.base; r.drop > 0 && left >= first {
		frames += r.drop * (9*tens + 1 + (left-first)/minute)
	} else {
		frames += 9 * r.drop * tens
	}
	f, s := frames%r.base, frames/r.base
	mark := ":"
	if r.drop > 0 {
		mark = ";"
	}
	return fmt.Sprintf("%02d:%02d:%02d%s%02d", s/3600, s/60%60, s%60, mark, f)
}

// longest is how long a recording over midnight may be: what would be longer is an end before its start.
const longest = 12

// Span is the frames from a start to an end, over midnight where the end is the smaller one.
func (r Rate) Span(start, end string) (from, frames int64, err error) {
	if from, err = r.Frames(start); err != nil {
		return 0, 0, err
	}
	to, err := r.Frames(end)
	if err != nil {
		return 0, 0, err
	}
	if frames = to - from; frames < 0 {
		frames += r.Day()
		if frames > longest*r.Day()/24 {
			return 0, 0, fmt.Errorf("%w: the end %s lies before the start %s", ErrImpossible, end, start)
		}
	}
	return from, frames, nil
}

// Anywhere reports whether there is a rate at which a timecode can be.
func Anywhere(text string) bool {
	for name := range bases {
		for _, drop := range []bool{false, true} {
			if r, err := RateOf(name, drop); err == nil {
				if _, err := r.Frames(text); err == nil {
					return true
				}
			}
		}
	}
	return false
}
