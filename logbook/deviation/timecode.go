package deviation

import "strconv"

// A frameCount is how timecode counts at a frame rate.
type frameCount struct {
	frames int  // numbers of frames in a second
	drops  int  // numbers left out at the start of a minute, but of every tenth
	drop   bool // whether they are
}

// frameCounts are the rates of the table of kinds: only those that are no whole numbers near a
// multiple of 30 have drop frame.
var frameCounts = map[string]frameCount{
	"23.976": {frames: 24}, "24": {frames: 24}, "25": {frames: 25}, "29.97": {frames: 30, drops: 2}, "30": {frames: 30},
	"50": {frames: 50}, "59.94": {frames: 60, drops: 4}, "60": {frames: 60},
}

// A timecode is a count of hours, minutes, seconds and frames as typed.
type timecode struct {
	hour, minute, second, frame int
	semicolon                   bool // drop frame, as it is written
}

// readTimecode reads hh:mm:ss:ff or hh:mm:ss;ff; ok is false of anything else.
func readTimecode(text string) (t timecode, ok bool) {
	if len(text) != 11 || text[2] != ':' || text[5] != ':' || text[8] != ':' && text[8] != ';' {
		return timecode{}, false
	}
	for i, part := range []*int{&t.hour, &t.minute, &t.second, &t.frame} {
		n, err := strconv.ParseUint(text[i*3:i*3+2], 10, 8)
		if err != nil {
			return timecode{}, false
		}
		*part = int(n)
	}
	t.semicolon = text[8] == ';'
	return t, true
}

// wrong says why a timecode can't be at a rate; "" where it can.
func (t timecode) wrong(c frameCount, rate string) string {
	drop := c.drop || t.semicolon
	switch {
	case drop && c.drops == 0:
		return "there is no drop frame at " + rate
	case t.frame >= c.frames:
		return "there is no frame " + strconv.Itoa(t.frame) + " at " + rate
	case drop && t.frame < c.drops && t.second == 0 && t.minute%10 != 0:
		return "drop frame leaves this number out"
	}
	return ""
}

// at is the number of the frame in the day, with those that drop frame leaves out: enough to
// tell which of two comes first.
func (t timecode) at(c frameCount) int {
	return ((t.hour*60+t.minute)*60+t.second)*c.frames + t.frame
}
