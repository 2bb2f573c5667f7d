package deviation

import (
	"math"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A spot is where one of the findings of a deviation was made, also of what follows from its cause, with its
// own kind and size: at one clip, or at takes, of one camera or of all.
type spot struct {
	kind         string
	clip, camera logbook.ID
	takes        []logbook.ID
	value        *figure.Size // nil where nothing is counted
}

func spotOf(f *sighting) spot {
	s := spot{kind: f.Kind, clip: f.clip, camera: f.camera, value: f.Value}
	if f.clip.IsZero() {
		for _, take := range f.takes {
			s.takes = append(s.takes, take.ID)
		}
	}
	return s
}

// at reports whether a spot is at a clip of a camera in some takes.
func (s *spot) at(clip, camera logbook.ID, takes []logbook.View) bool {
	if !s.clip.IsZero() {
		return s.clip == clip
	}
	return (s.camera.IsZero() || s.camera == camera) &&
		slices.ContainsFunc(takes, func(take logbook.View) bool { return slices.Contains(s.takes, take.ID) })
}

// An OffClip is a clip at which something is off, accepted or not: what somebody looks through who looks for clips
// by that.
type OffClip struct {
	Clip, Camera logbook.ID
	At           logbook.Millis // as lighting.ClipTime has it
	By           []OffBy        // each kind once
}

// OffBy is how far off a clip is by one kind of deviation: the greatest sizes that were found there, without
// signs; 0 where nothing is counted so.
type OffBy struct {
	Kind              string
	Mired, Duv, Steps float64
}

// OffClips finds the clips of a scope at which something is off, set-up by set-up.
func OffClips(from logbook.Lender, scope Scope, now logbook.Millis) (all [][]OffClip) {
	w := walkOf(from, scope, now, false)
	w.each(func(setUp logbook.View) {
		s := w.finder(setUp)
		s.Deviations(w.acceptances)
		all = append(all, s.offClips())
	})
	return all
}

// offClips are those of the set-up whose deviations were found.
func (s *Finder) offClips() (all []OffClip) {
	for _, clip := range s.Book().Referring(kinds.Clip, "setUp", s.View().ID) {
		off := OffClip{Clip: clip.ID, Camera: clip.Ref("camera"), At: lighting.ClipTime(clip)}
		takes := s.TakesOf(clip)
		for i := range s.spots {
			if at := &s.spots[i]; at.at(clip.ID, off.Camera, takes) {
				off.add(at)
			}
		}
		if len(off.By) > 0 {
			all = append(all, off)
		}
	}
	return all
}

func (c *OffClip) add(at *spot) {
	i := slices.IndexFunc(c.By, func(by OffBy) bool { return by.Kind == at.kind })
	if i < 0 {
		i = len(c.By)
		c.By = append(c.By, OffBy{Kind: at.kind})
	}
	if at.value == nil {
		return
	}
	by := &c.By[i]
	for _, size := range [...]struct {
		found *float64
		most  *float64
	}{{at.value.Mired, &by.Mired}, {at.value.Duv, &by.Duv}, {at.value.Steps, &by.Steps}} {
		if size.found != nil {
			*size.most = max(*size.most, math.Abs(*size.found))
		}
	}
}
