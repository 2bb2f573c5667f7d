package deviation

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// A spot is where one of the findings of a deviation was made, with its own kind and size.
type spot struct {
	kind         string
	clip, camera logbook.ID
	takes        []logbook.ID
	value        *figure.Size
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

// SizesAt are the sizes of the findings of a kind, or of any where it is empty, that list a clip of a camera
// or a take of it: also of what follows from the cause. nil where nothing is counted. The deviation's own
// value is that of the worst.
func (d *Deviation) SizesAt(kind string, clip, camera logbook.ID, takes []logbook.ID) (sizes []*figure.Size) {
	for i := range d.spots {
		s := &d.spots[i]
		of := s.clip == clip
		if s.clip.IsZero() {
			of = (s.camera.IsZero() || s.camera == camera) &&
				slices.ContainsFunc(s.takes, func(id logbook.ID) bool { return slices.Contains(takes, id) })
		}
		if of && (kind == "" || s.kind == kind) {
			sizes = append(sizes, s.value)
		}
	}
	return sizes
}
