package deviation

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A take is logged with what is known. What it was logged without is found here.

// notReadOff is a clip of which nobody said how its white was set, as after a swap of
// bodies: one finding for all clips of a camera and body.
func (s *Finder) notReadOff(sh *Shot) sighting {
	letter := sh.camera.Text("letter")
	f := sh.finding(NoSettings, causeOf(NoSettings, s.View().ID, sh.camera.ID, sh.body.ID),
		fmt.Sprintf("the white of camera %s was not read off yet: nobody knows how it was set", letter))
	f.Headline, f.ToDo = letter+": settings not read off yet", "read off "+letter+"'s white"
	return f
}

// unsaid finds clips of a camera without a body, and takes of a set-up in which no camera
// is in use: of those nothing can be told.
func (s *Finder) unsaid() (all []sighting) {
	for _, clip := range s.Clips() {
		camera, ok := s.Book().RecordOf(kinds.Camera, clip.Ref("camera"))
		if !ok || clip.Value("body") != "" {
			continue
		}
		letter := camera.Text("letter")
		f := s.missing(NoBody, fmt.Sprintf("which body filled camera %s is not in the log", letter))
		f.cause += "/" + causeOf(camera.ID)
		f.Headline, f.ToDo = letter+": its body is not in the log", "say which body fills "+letter
		f.subjects, f.takes, f.clip, f.camera = []logbook.ID{camera.ID}, s.TakesOf(clip), clip.ID, camera.ID
		all = append(all, f)
	}
	if len(s.Cameras()) > 0 || len(s.Clips()) > 0 || len(s.Takes()) == 0 {
		return all
	}
	f := s.missing(NoCamera, "takes were logged, but no camera is in use in this set-up: the colour log has no row for them")
	f.Headline, f.ToDo = "No camera is in use", "say which cameras roll"
	f.takes = s.Takes()
	return append(all, f)
}
