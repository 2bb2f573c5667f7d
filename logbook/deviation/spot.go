package deviation

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// A Spot is where one of the findings of a deviation was made, also of what follows from its cause, with its
// own kind and size: at one clip, or at takes, of one camera or of all.
type Spot struct {
	Kind         string
	Clip, camera logbook.ID
	takes        []logbook.ID
	Value        *figure.Size // nil where nothing is counted
}

func spotOf(f *sighting) Spot {
	s := Spot{Kind: f.Kind, Clip: f.clip, camera: f.camera, Value: f.Value}
	if f.clip.IsZero() {
		for _, take := range f.takes {
			s.takes = append(s.takes, take.ID)
		}
	}
	return s
}

// Spots are those of a deviation, whose own value is that of the worst.
func (d *Deviation) Spots() []Spot { return d.spots }

// At reports whether a spot is at a clip of a camera in some takes.
func (s *Spot) At(clip, camera logbook.ID, takes []logbook.ID) bool {
	if !s.Clip.IsZero() {
		return s.Clip == clip
	}
	return (s.camera.IsZero() || s.camera == camera) &&
		slices.ContainsFunc(s.takes, func(id logbook.ID) bool { return slices.Contains(takes, id) })
}
