package cameras

import (
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
)

// An inferred light rests on the white of the camera that saw it. Where something of that body
// is not known the light may be several, and so may what a card in it teaches.

// An assumedLight is a light that may have been on a card, with what was assumed of a camera
// for it; nothing where it was measured.
type assumedLight struct {
	xy colorimetry.XY
	by Possible
}

// An assumedCast is what a card, or all cards of a body, teach in such a light.
type assumedCast struct {
	cast colorimetry.Cast
	by   Possible
}

// lightsBehind are the lights that a card shows by each of the whites that its camera may have
// had, the one that is shown first.
func (c *Card) lightsBehind(whites []Possible) (all []assumedLight, err error) {
	for _, w := range whites {
		xy, err := c.LightBehind(w.White)
		if err != nil {
			return nil, err
		}
		if w.through = (logbook.ID{}); len(whites) > 1 {
			w.through = c.Camera
		}
		all = append(all, assumedLight{xy, w})
	}
	return all, nil
}

// castsIn are what a card teaches in each of the lights that it may have been in.
func (c *Card) castsIn(lights []assumedLight, label colorimetry.CCTDuv) (all []assumedCast, first colorimetry.Sample, err error) {
	for i, light := range lights {
		s, err := c.in(light.xy)
		if err != nil {
			return nil, first, err
		}
		if i == 0 {
			first = s
		}
		all = append(all, assumedCast{colorimetry.CameraError(s.White, label), light.by})
	}
	return all, first, nil
}

// in is what a card says in a light.
func (c *Card) in(light colorimetry.XY) (colorimetry.Sample, error) {
	if c.read != nil && light == c.Reading.Color.XY {
		return *c.read, nil
	}
	return colorimetry.ReadPatch(c.Patch, c.Encoding, light)
}

// under is what a card teaches where assumptions are true; by the first of its lights where
// they say nothing of it.
func (l *cardLesson) under(assumed []Possible) colorimetry.Cast {
	for _, c := range l.casts {
		if slices.ContainsFunc(assumed, c.by.sameAs) {
			return c.cast
		}
	}
	return l.cast
}

func (p Possible) sameAs(o Possible) bool {
	return p.body == o.body && p.zero == o.zero && p.unit == o.unit
}

// assume works out what all cards teach by each way in which what is not known may be.
func (e *Error) assume(all []cardLesson) {
	ways := [][]Possible{nil}
	var bodies []logbook.ID
	for _, l := range all {
		if len(l.casts) < 2 || slices.Contains(bodies, l.casts[0].by.body) {
			continue
		}
		bodies = append(bodies, l.casts[0].by.body)
		var more [][]Possible
		for _, way := range ways {
			for _, c := range l.casts {
				more = append(more, append(slices.Clone(way), c.by))
			}
		}
		ways = more
	}
	if len(ways) < 2 {
		return
	}
	for _, way := range ways {
		one := assumedCast{cast: meanOf(all, func(l *cardLesson) colorimetry.Cast { return l.under(way) })}
		if one.by.through = way[0].through; len(way) == 1 {
			one.by = way[0]
		}
		e.may = append(e.may, one)
	}
}

// meanOf is the weighted mean of what cards teach.
func meanOf(all []cardLesson, of func(*cardLesson) colorimetry.Cast) colorimetry.Cast {
	var sum, mired, duv float64
	for i := range all {
		w, cast := all[i].weight, of(&all[i])
		sum, mired, duv = sum+w, mired+w*float64(cast.Mired), duv+w*float64(cast.Duv)
	}
	return colorimetry.Cast{Mired: colorimetry.Mired(mired / sum), Duv: colorimetry.Duv(duv / sum)}
}

// casts are the errors that the cards may mean, the one that is shown first.
func (e Error) casts() []assumedCast {
	if len(e.may) == 0 {
		return []assumedCast{{cast: e.Cast}}
	}
	return e.may
}

// MayBe are the errors that the cards may mean, the one that is shown first; several where the
// light on a card rests on a camera of which not all is known.
func (e Error) MayBe() (all []colorimetry.Cast) {
	for _, one := range e.casts() {
		all = append(all, one.cast)
	}
	return all
}
