package exchange

import (
	"sort"

	"evenwhite/logbook"
)

// MissingEdits are edits of one line that must have been written and are not here:
// numbers that were passed over, and edits that others name as seen.
type MissingEdits struct {
	Line  logbook.Line
	Spans []logbook.Span
	// Writer is who wrote the last edit of the line that is here; zero where none is.
	Writer Holder
	// SeenBy are those who named one of them in an edit: what a device has seen, it
	// holds.
	SeenBy []Holder
}

// A Holder is a device on which edits were made, and who made them.
type Holder struct {
	Device logbook.ID
	By     string
}

// Missing lists what a book is known to lack, by line. What was written after the
// last edit of a line that anybody names cannot be known of.
func Missing(b *logbook.Book) []MissingEdits {
	last := map[logbook.Line]*logbook.Edit{}
	top := map[logbook.Line]uint64{}
	seen := map[logbook.Line]map[Holder]bool{}
	written := func(e *logbook.Edit) {
		if known := last[e.Dot.Line]; known == nil || known.Dot.N < e.Dot.N {
			last[e.Dot.Line] = e
			top[e.Dot.Line] = max(top[e.Dot.Line], e.Dot.N)
		}
	}
	for _, r := range b.Refused() {
		written(r.Edit)
	}
	for e := range b.Applied() {
		written(e)
		for d := range e.Names {
			if b.Held(d) {
				continue
			}
			top[d.Line] = max(top[d.Line], d.N)
			if seen[d.Line] == nil {
				seen[d.Line] = map[Holder]bool{}
			}
			seen[d.Line][Holder{e.Device, e.By}] = true
		}
	}
	var out []MissingEdits
	held := b.Holds()
	for line, n := range top {
		m := MissingEdits{Line: line, Spans: gaps(held[line], n), SeenBy: sortedHolders(seen[line])}
		if e := last[line]; e != nil {
			m.Writer = Holder{e.Device, e.By}
		}
		if len(m.Spans) > 0 {
			out = append(out, m)
		}
	}
	sort.Slice(out, func(i, j int) bool { return string(out[i].Line[:]) < string(out[j].Line[:]) })
	return out
}

// gaps are the numbers from 1 to top that no span holds.
func gaps(held []logbook.Span, top uint64) (out []logbook.Span) {
	next := uint64(1)
	for _, s := range held {
		if s.From > next {
			out = append(out, logbook.Span{From: next, To: s.From - 1})
		}
		if s.To >= top {
			return out
		}
		next = s.To + 1
	}
	return append(out, logbook.Span{From: next, To: top})
}

func sortedHolders(set map[Holder]bool) []Holder {
	out := make([]Holder, 0, len(set))
	for h := range set {
		out = append(out, h)
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].Device != out[j].Device {
			return out[i].Device.Less(out[j].Device)
		}
		return out[i].By < out[j].By
	})
	return out
}
