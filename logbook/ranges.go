package logbook

import "sort"

// Span is a closed range of numbers of a line.
type Span struct{ From, To uint64 }

// Ranges tell which edits are held: per line the spans of numbers, rising, with
// gaps between them. Nearly always a line holds one span that begins at 1. A set
// that edits are added to is a Held.
type Ranges map[Line][]Span

// Has reports whether a dot is held.
func (r Ranges) Has(d Dot) bool {
	spans := r[d.Line]
	i := sort.Search(len(spans), func(i int) bool { return spans[i].To >= d.N })
	return i < len(spans) && spans[i].From <= d.N
}

// Lines returns the lines in order.
func (r Ranges) Lines() []Line {
	lines := make([]Line, 0, len(r))
	for l := range r {
		lines = append(lines, l)
	}
	sort.Slice(lines, func(i, j int) bool { return string(lines[i][:]) < string(lines[j][:]) })
	return lines
}
