package picture

import "math"

// box is a rectangle on the paper.
type box struct{ left, top, right, bottom float64 }

func (b box) width() float64  { return b.right - b.left }
func (b box) height() float64 { return b.bottom - b.top }

func (b box) holds(o box) bool {
	return o.left >= b.left && o.right <= b.right && o.top >= b.top && o.bottom <= b.bottom
}

// overlap is the area that two boxes share.
func (b box) overlap(o box) float64 {
	w, h := math.Min(b.right, o.right)-math.Max(b.left, o.left), math.Min(b.bottom, o.bottom)-math.Max(b.top, o.top)
	return math.Max(0, w) * math.Max(0, h)
}

func around(s spot, r float64) box { return box{s.x - r, s.y - r, s.x + r, s.y + r} }

// labels places texts one after another, each where it covers nothing that is
// there already.
type labels struct {
	inside box
	taken  []box
}

func (l *labels) take(b box) { l.taken = append(l.taken, b) }

func (l *labels) covered(b box) (area float64) {
	for _, o := range l.taken {
		area += b.overlap(o)
	}
	return area
}

// A note is a placed text.
type note struct {
	text string
	box  box
	far  bool // so far from its mark that a line leads to it
}

// directions are where a label may stand about a mark: to the right first, as it is read.
var directions = [...]spot{
	{1, 0}, {1, -0.8}, {1, 0.8}, {-1, 0}, {-1, -0.8}, {-1, 0.8}, {0, -1}, {0, 1},
	{0.5, -1}, {0.5, 1}, {-0.5, -1}, {-0.5, 1}, {1, -0.4}, {1, 0.4}, {-1, -0.4}, {-1, 0.4},
}

// How far a label stands from its mark; from farGap on a line leads to it.
var (
	nearGaps = [...]float64{3, 9}
	farGaps  = [...]float64{18, 26, 36, 48, 62, 78, 96, 120, 150}
)

// beside places one of several texts beside a mark of a radius: the fullest that finds
// a free place near it, else the shortest farther off. Where all is covered, the
// shortest goes where it covers least.
func (l *labels) beside(at spot, radius, em float64, texts ...string) note {
	shortest := texts[len(texts)-1]
	for _, text := range texts {
		for _, gap := range nearGaps {
			if n, ok := l.free(at, radius+gap, em, text); ok {
				return n
			}
		}
	}
	for _, gap := range farGaps {
		if n, ok := l.free(at, radius+gap, em, shortest); ok {
			n.far = true
			return n
		}
	}
	best := note{text: shortest, box: l.shifted(labelBox(at, directions[0], radius+nearGaps[0], shortest, em))}
	for _, d := range directions {
		if b := labelBox(at, d, radius+nearGaps[0], shortest, em); l.inside.holds(b) && l.covered(b) < l.covered(best.box) {
			best.box = b
		}
	}
	l.take(best.box)
	return best
}

// free takes the first place at a distance at which a text covers nothing.
func (l *labels) free(at spot, distance, em float64, text string) (note, bool) {
	for _, d := range directions {
		if b := labelBox(at, d, distance, text, em); l.takeFree(b) {
			return note{text: text, box: b}, true
		}
	}
	return note{}, false
}

// takeFree takes a box that lies inside and covers nothing.
func (l *labels) takeFree(b box) bool {
	if !l.inside.holds(b) || l.covered(b) > 0 {
		return false
	}
	l.take(b)
	return true
}

// along places a text at the first of several places that is free; ok is false
// where none is.
func (l *labels) along(text string, em float64, places []spot) (note, bool) {
	for _, s := range places {
		b := l.shifted(labelBox(s, spot{}, 0, text, em))
		if l.covered(b) == 0 {
			l.take(b)
			return note{text: text, box: b}, true
		}
	}
	return note{}, false
}

// shifted moves a box inside.
func (l *labels) shifted(b box) box {
	dx := math.Max(0, l.inside.left-b.left) - math.Max(0, b.right-l.inside.right)
	dy := math.Max(0, l.inside.top-b.top) - math.Max(0, b.bottom-l.inside.bottom)
	return box{b.left + dx, b.top + dy, b.right + dx, b.bottom + dy}
}

// labelBox is where a text stands from a spot in a direction; none: centred on it.
func labelBox(at, direction spot, distance float64, text string, em float64) box {
	w, h := width(text, em)+2, em*1.15
	x, y := at.x+direction.x*distance, at.y+direction.y*distance
	return box{x + (direction.x-1)*w/2, y + (direction.y-1)*h/2, x + (direction.x+1)*w/2, y + (direction.y+1)*h/2}
}

// draw writes a placed text, with a line from its mark where it is far.
func (n note) draw(p *paper, class string, em float64, at spot) {
	if n.far {
		end := spot{min(max(at.x, n.box.left), n.box.right), min(max(at.y, n.box.top), n.box.bottom)}
		p.line("l", "", at, end)
	}
	p.write(class+" o", em, spot{n.box.left + 1, n.box.bottom - em*0.28}, "start", n.text)
}
