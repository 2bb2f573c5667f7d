package logbook

import "sort"

// Span is a closed range of numbers of a line.
type Span struct{ From, To uint64 }

// Ranges say which edits are held: per line the spans of numbers, rising, with
// gaps between them. Nearly always a line holds one span that begins at 1.
type Ranges map[Line][]Span

// Has reports whether a dot is held.
func (r Ranges) Has(d Dot) bool {
	spans := r[d.Line]
	i := sort.Search(len(spans), func(i int) bool { return spans[i].To >= d.N })
	return i < len(spans) && spans[i].From <= d.N
}

// Add notes a dot and reports whether it is new.
func (r Ranges) Add(d Dot) bool {
	spans := r[d.Line]
	if last := len(spans) - 1; last >= 0 && spans[last].To+1 == d.N {
		spans[last].To++
		return true
	}
	i := sort.Search(len(spans), func(i int) bool { return spans[i].To >= d.N })
	if i < len(spans) && spans[i].From <= d.N {
		return false
	}
	joinsBefore := i > 0 && spans[i-1].To+1 == d.N
	joinsAfter := i < len(spans) && d.N+1 == spans[i].From
	switch {
	case joinsBefore && joinsAfter:
		spans[i-1].To = spans[i].To
		spans = append(spans[:i], spans[i+1:]...)
	case joinsBefore:
		spans[i-1].To++
	case joinsAfter:
		spans[i].From--
	default:
		spans = append(spans, Span{})
		copy(spans[i+1:], spans[i:])
		spans[i] = Span{d.N, d.N}
	}
	r[d.Line] = spans
	return true
}

// Covers reports whether everything that is held by others is held here.
func (r Ranges) Covers(others Ranges) bool {
	for line, spans := range others {
		here := r[line]
		for _, s := range spans {
			i := sort.Search(len(here), func(i int) bool { return here[i].To >= s.To })
			if i == len(here) || here[i].From > s.From {
				return false
			}
		}
	}
	return true
}

// Clone returns a copy that shares nothing.
func (r Ranges) Clone() Ranges {
	out := make(Ranges, len(r))
	for line, spans := range r {
		out[line] = append([]Span(nil), spans...)
	}
	return out
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
