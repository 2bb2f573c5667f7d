package deviation

import (
	"fmt"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// notLogged finds the gaps of a camera: takes between others of its own of which it
// has no clip. Takes that read alike are one: where two phones logged a take apart,
// each has one camera's clip.
func (s *Finder) notLogged() (all []sighting) {
	type alike struct {
		number float64
		takes  []logbook.View
		seen   logbook.IDSet // cameras
	}
	byKey := map[lighting.TakeLabel]*alike{}
	var order []*alike
	of := map[logbook.ID]*alike{}
	for _, take := range s.Takes() {
		number, ok := take.Number("number")
		if !ok || !lighting.IsTake(take) {
			continue
		}
		key := lighting.LabelOf(take)
		a := byKey[key]
		if a == nil {
			a = &alike{number: number, seen: logbook.IDSet{}}
			byKey[key] = a
			order = append(order, a)
		}
		a.takes = append(a.takes, take)
		of[take.ID] = a
	}
	sort.SliceStable(order, func(i, j int) bool { return order[i].number < order[j].number })
	for _, clip := range s.Clips() {
		for _, take := range s.TakesOf(clip) {
			if a := of[take.ID]; a != nil {
				a.seen.Add(clip.Ref("camera"))
			}
		}
	}
	for _, camera := range s.Cameras() {
		var gap []*alike
		begun := false
		for _, a := range order {
			switch {
			case !a.seen[camera.ID] && begun && !s.stoodStill(camera, a.takes):
				gap = append(gap, a)
			case a.seen[camera.ID]:
				for _, missed := range gap {
					letter := camera.Text("letter")
					f := s.missing(NotLogged, fmt.Sprintf("camera %s was not logged", letter))
					f.Headline, f.ToDo = "Camera "+letter+" was not logged", "log it, or say that "+letter+" did not roll"
					f.cause += "/" + causeOf(camera.ID)
					f.subjects, f.takes, f.camera = []logbook.ID{camera.ID}, missed.takes, camera.ID
					all = append(all, f)
				}
				gap, begun = nil, true
			}
		}
	}
	return all
}

// stoodStill reports whether a camera has a clip in one of the takes that says it did not
// roll; Clips leaves those out.
func (s *Finder) stoodStill(camera logbook.View, takes []logbook.View) bool {
	for _, take := range takes {
		for _, clip := range s.Book().Referring(kinds.Clip, "takes", take.ID) {
			if clip.Ref("camera") == camera.ID {
				return true
			}
		}
	}
	return false
}
