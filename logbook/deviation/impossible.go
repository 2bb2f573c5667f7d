package deviation

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// What can't be true was typed wrong. It stands in the log as it was typed, and is found here.

// longestClip is how many hours a clip may last: where its end is an earlier time of day than
// its start, it ran over midnight if it is no longer, else one of the two is wrong. A choice of
// this program.
const longestClip = 12

func (s *Finder) impossible() (all []sighting) {
	for _, clip := range s.Clips() {
		camera, ok := s.Book().RecordOf(kinds.Camera, clip.Ref("camera"))
		if !ok {
			continue
		}
		for _, f := range append(s.timecodes(clip, camera), s.nameTwice(clip, camera)...) {
			f.subjects, f.takes, f.clip, f.camera = []logbook.ID{camera.ID}, s.TakesOf(clip), clip.ID, camera.ID
			all = append(all, f)
		}
	}
	for _, take := range s.Takes() {
		began, ok := lighting.InstantOf(take, "startedAt")
		ended, too := lighting.InstantOf(take, "endedAt")
		if !ok || !too || ended >= began {
			continue
		}
		f := s.missing(TakeEndsFirst, fmt.Sprintf("%s ended before it began: one of the two times is wrong", lighting.TakeName(take)))
		f.Headline, f.ToDo = "ended before it began", "type the times of "+lighting.TakeName(take)+" again"
		f.cause += "/" + take.ID.String()
		f.subjects, f.takes = []logbook.ID{take.ID}, []logbook.View{take}
		all = append(all, f)
	}
	return all
}

// timecodes finds what a camera can't have shown: at most one fault of a sort for a clip.
func (s *Finder) timecodes(clip, camera logbook.View) (all []sighting) {
	production, _ := lighting.ProductionOf(s.Book())
	rate := clip.Text("timecode/rate")
	if rate == "" {
		rate = production.Text("frameRate")
	}
	count, ok := frameCounts[rate]
	if !ok {
		return nil
	}
	count.drop = clip.Flag("timecode/drop", production.Flag("dropFrame", false) && count.drops > 0)
	letter := camera.Text("letter")
	fault := func(sort, headline, words string) {
		f := s.missing(TimecodeImpossible, words)
		f.cause += "/" + causeOf(camera.ID, sort)
		f.Headline, f.ToDo = letter+": "+headline, "read "+letter+"'s timecode off again"
		all = append(all, f)
	}
	typed := []logbook.Value{clip.Value("timecode/start"), clip.Value("timecode/end")}
	for _, key := range clip.Keys("takes") {
		typed = append(typed, clip.Value("takes/"+key).Member("beginsAt"))
	}
	for _, v := range typed {
		text, _ := v.Text()
		t, ok := readTimecode(text)
		if !ok {
			continue
		}
		if why := t.wrong(count, rate); why != "" {
			fault("count", "timecode "+text+" can't be", fmt.Sprintf("the timecode %s of camera %s can't be: %s", text, letter, why))
			break
		}
	}
	start, begun := readTimecode(clip.Text("timecode/start"))
	end, ended := readTimecode(clip.Text("timecode/end"))
	frames := end.at(count) - start.at(count)
	if !begun || !ended || frames >= 0 {
		return all
	}
	body, _ := s.Book().RecordOf(kinds.Body, clip.Ref("body"))
	// A timecode that runs only while the camera records does not pass midnight.
	if hour := count.frames * 60 * 60; body.Text("timecode") == "recordRun" || frames+24*hour > longestClip*hour {
		fault("end", "a clip ends before it begins", fmt.Sprintf("a clip of camera %s ends at timecode %s, before it begins at %s",
			letter, clip.Text("timecode/end"), clip.Text("timecode/start")))
	}
	return all
}

// nameTwice finds a clip whose name another one has, of the same day, camera and card: there
// is one such file. Takes that were logged twice are a question already, and their clips with them.
func (s *Finder) nameTwice(clip, camera logbook.View) []sighting {
	for _, other := range s.NamedAlike(clip) {
		if s.loggedTwice(clip, other) {
			continue
		}
		name, _ := clip.Value("name").Member("text").Text()
		letter, card := camera.Text("letter"), clip.Text("card")
		setUp, _ := s.Book().RecordOf(kinds.SetUp, other.Ref("setUp"))
		where := ""
		if setUp.ID != s.View().ID {
			where = ", the other in set-up " + lighting.SetUpName(s.Book(), setUp)
		}
		f := s.missing(ClipNameTwice, fmt.Sprintf("two clips of camera %s are named %s on card %s of this day%s", letter, name, card, where))
		f.cause += "/" + causeOf(camera.ID) + "/" + card
		f.Headline, f.ToDo = letter+": clip names twice on a card", fmt.Sprintf("read the names off %s's card %s", letter, card)
		return []sighting{f}
	}
	return nil
}

// loggedTwice reports whether two clips stand in takes that read alike: where two phones
// logged one take.
func (s *Finder) loggedTwice(clip, other logbook.View) bool {
	if other.Ref("setUp") != clip.Ref("setUp") {
		return false
	}
	for _, a := range s.TakesOf(clip) {
		for _, b := range s.TakesOf(other) {
			if a.ID != b.ID && alike(a) == alike(b) {
				return true
			}
		}
	}
	return false
}

// alike is equal for takes that a reader cannot tell apart.
func alike(take logbook.View) string {
	kind := take.Text("takeKind")
	if kind == "" {
		kind = "take"
	}
	number, _ := take.Number("number")
	return causeOf(fmt.Sprint(number), take.Text("suffix"), kind)
}
