package glance

import (
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A ClipFound is a clip that somebody looked for, and where it is listed.
type ClipFound struct {
	Clip     logbook.ID `json:"clip"`
	SetUp    logbook.ID `json:"setUp,omitzero"`
	Day      logbook.ID `json:"day,omitzero"`
	Date     string     `json:"date,omitempty"`
	Letter   string     `json:"letter,omitempty"`
	Name     string     `json:"name,omitempty"`
	Timecode *Timecode  `json:"timecode,omitempty"`
}

// A Timecode is that of a clip's start and end, as typed or counted.
type Timecode struct {
	Start string `json:"start,omitempty"`
	End   string `json:"end,omitempty"`
}

func timecodeOf(clip logbook.View) *Timecode {
	t := Timecode{clip.Text("timecode/start"), clip.Text("timecode/end")}
	if t == (Timecode{}) {
		return nil
	}
	return &t
}

// FindClips lists the clips, the newest first, whose name begins with a text in any case, or
// whose timecode does, or runs while the text says. What nobody could mean finds none.
func FindClips(b *logbook.Book, text string, limit int) []ClipFound {
	found, text := []ClipFound{}, strings.ToLower(strings.TrimSpace(text))
	if text == "" {
		return found
	}
	for _, clip := range slices.Backward(b.Records(kinds.Clip)) {
		if len(found) == limit {
			break
		}
		name, _ := clip.Value("name").Member("text").Text()
		if !strings.HasPrefix(strings.ToLower(name), text) && !timecodeOf(clip).has(text) {
			continue
		}
		f := ClipFound{Clip: clip.ID, SetUp: clip.Ref("setUp"), Name: name, Timecode: timecodeOf(clip)}
		if camera, ok := b.RecordOf(kinds.Camera, clip.Ref("camera")); ok {
			f.Letter = camera.Text("letter")
		}
		if setUp, ok := b.RecordOf(kinds.SetUp, f.SetUp); ok {
			f.SetUp, f.Day, f.Date = setUp.ID, setUp.Ref("day"), lighting.DateOf(b, setUp.ID)
		}
		found = append(found, f)
	}
	return found
}

// frames as people write them: drop-frame timecode has a semicolon before the frames.
var plainTimecode = strings.NewReplacer(";", ":", ".", ":")

// has reports whether a timecode begins as a text does, or the text lies between start and end.
func (t *Timecode) has(text string) bool {
	if t == nil || !strings.Contains(plainTimecode.Replace(text), ":") {
		return false
	}
	text = plainTimecode.Replace(text)
	start, end := plainTimecode.Replace(t.Start), plainTimecode.Replace(t.End)
	return strings.HasPrefix(start, text) || len(text) == len(start) && len(start) == len(end) && start <= text && text <= end
}
