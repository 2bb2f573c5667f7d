package logbook

import (
	"cmp"
	"encoding/binary"
	"iter"
	"slices"
	"strconv"
)

// Held is the set of the dots that are held: spans of numbers in the order of lines, as
// Ranges tell them. It is made for adding: wherever a gap is, and however many there are,
// an edit costs the same. The zero Held holds nothing.
type Held struct {
	pieces [][]lineSpan // none is empty; spans of one line neither meet nor overlap
	last   int          // the piece that was added to last
}

type lineSpan struct {
	line Line
	Span
}

// mostSpans bounds the spans of a piece.
const mostSpans = 256

func (s *lineSpan) compare(line Line, n uint64) int {
	if c := cmp.Compare(lineNumber(s.line), lineNumber(line)); c != 0 {
		return c
	}
	return cmp.Compare(s.To, n)
}

// lineNumber orders lines as their bytes do, and is compared at once.
func lineNumber(line Line) uint64 { return binary.BigEndian.Uint64(line[:]) }

// firstFrom is the first of so many spans that ends at a dot or behind it. It searches by hand:
// each edit of a log that is opened is looked up twice.
func firstFrom(n int, span func(int) *lineSpan, line, number uint64) int {
	from, to := 0, n
	for from < to {
		at := int(uint(from+to) >> 1)
		s := span(at)
		if l := lineNumber(s.line); l < line || l == line && s.To < number {
			from = at + 1
		} else {
			to = at
		}
	}
	return from
}

// find returns the first span that ends at a dot or behind it: its piece and its place there.
// Behind the last one, it is the end of the last piece.
func (h *Held) find(d Dot) (piece, at int) {
	line := lineNumber(d.Line)
	within := func(i int) int {
		p := h.pieces[i]
		return firstFrom(len(p), func(at int) *lineSpan { return &p[at] }, line, d.N)
	}
	// Most edits follow the one before in its line.
	if i := h.last; i < len(h.pieces) {
		if at := within(i); at > 0 && at < len(h.pieces[i]) {
			return i, at
		}
	}
	piece = firstFrom(len(h.pieces), func(at int) *lineSpan { p := h.pieces[at]; return &p[len(p)-1] }, line, d.N)
	if piece == len(h.pieces) {
		if piece == 0 {
			return 0, 0
		}
		piece--
		return piece, len(h.pieces[piece])
	}
	return piece, within(piece)
}

// span returns the span at a place, and the one before it; nil where there is none.
func (h *Held) around(piece, at int) (before, here *lineSpan) {
	if piece >= len(h.pieces) {
		return nil, nil
	}
	p := h.pieces[piece]
	if at < len(p) {
		here = &p[at]
	}
	switch {
	case at > 0:
		before = &p[at-1]
	case piece > 0:
		before = &h.pieces[piece-1][len(h.pieces[piece-1])-1]
	}
	return before, here
}

// Has reports whether a dot is held.
func (h *Held) Has(d Dot) bool {
	_, here := h.around(h.find(d))
	return here != nil && here.line == d.Line && here.From <= d.N
}

// Add notes a dot and reports whether it is new.
func (h *Held) Add(d Dot) bool {
	piece, at := h.find(d)
	before, here := h.around(piece, at)
	if here != nil && here.line == d.Line && here.From <= d.N {
		return false
	}
	h.last = piece
	joinsBefore := before != nil && before.line == d.Line && before.To+1 == d.N
	joinsHere := here != nil && here.line == d.Line && d.N+1 == here.From
	switch {
	case joinsBefore && joinsHere:
		before.To = here.To
		h.remove(piece, at)
	case joinsBefore:
		before.To = d.N
	case joinsHere:
		here.From = d.N
	default:
		h.insert(piece, at, lineSpan{d.Line, Span{d.N, d.N}})
	}
	return true
}

// Drop forgets a dot: what was held of it is damaged.
func (h *Held) Drop(d Dot) {
	piece, at := h.find(d)
	_, here := h.around(piece, at)
	if here == nil || here.line != d.Line || here.From > d.N {
		return
	}
	switch {
	case here.From == here.To:
		h.remove(piece, at)
	case here.From == d.N:
		here.From++
	case here.To == d.N:
		here.To--
	default:
		before := lineSpan{d.Line, Span{here.From, d.N - 1}}
		here.From = d.N + 1
		h.insert(piece, at, before)
	}
}

func (h *Held) insert(piece, at int, s lineSpan) {
	if len(h.pieces) == 0 {
		h.pieces = [][]lineSpan{{s}}
		return
	}
	p := slices.Insert(h.pieces[piece], at, s)
	h.pieces[piece] = p
	if len(p) <= mostSpans {
		return
	}
	half := len(p) / 2
	if at == len(p)-1 {
		half = at // they come in rising order: leave full pieces behind
	}
	rest := append(make([]lineSpan, 0, mostSpans), p[half:]...)
	h.pieces[piece] = p[:half:half]
	h.pieces = slices.Insert(h.pieces, piece+1, rest)
}

func (h *Held) remove(piece, at int) {
	if h.pieces[piece] = slices.Delete(h.pieces[piece], at, at+1); len(h.pieces[piece]) == 0 {
		h.pieces = slices.Delete(h.pieces, piece, piece+1)
	}
}

// put adds a span behind all others.
func (h *Held) put(line Line, s Span) {
	piece := max(len(h.pieces)-1, 0)
	at := 0
	if len(h.pieces) > 0 {
		at = len(h.pieces[piece])
	}
	h.insert(piece, at, lineSpan{line, s})
}

// HeldOf makes the set that ranges tell.
func HeldOf(r Ranges) *Held {
	h := &Held{}
	for _, line := range r.Lines() {
		for _, s := range r[line] {
			h.put(line, s)
		}
	}
	return h
}

// Spans walks what is held behind a dot, in the order of dots.
func (h *Held) Spans(behind Dot) iter.Seq2[Line, Span] {
	return func(yield func(Line, Span) bool) {
		w := h.walk(behind)
		for s, ok := w.next(); ok; s, ok = w.next() {
			if !yield(s.line, s.Span) {
				return
			}
		}
	}
}

// A spanWalk stands before a span.
type spanWalk struct {
	of     *Held
	piece  int
	at     int
	behind Dot
}

func (h *Held) walk(behind Dot) spanWalk {
	piece, at := h.find(behind)
	return spanWalk{h, piece, at, behind}
}

func (w *spanWalk) next() (lineSpan, bool) {
	for ; w.piece < len(w.of.pieces); w.piece, w.at = w.piece+1, 0 {
		for p := w.of.pieces[w.piece]; w.at < len(p); {
			s := p[w.at]
			w.at++
			if s.line == w.behind.Line && s.From <= w.behind.N {
				if s.To <= w.behind.N {
					continue
				}
				s.From = w.behind.N + 1
			}
			return s, true
		}
	}
	return lineSpan{}, false
}

// Ranges lists what is held.
func (h *Held) Ranges() Ranges {
	out := Ranges{}
	for line, s := range h.Spans(Dot{}) {
		out[line] = append(out[line], s)
	}
	return out
}

// Part lists what is held behind a dot, up to the dot that it returns: all of it, where that
// is zero, or some bytes of it as they are told.
func (h *Held) Part(behind Dot, atMost int) (told Ranges, to Dot) {
	told = Ranges{}
	size, last := 0, behind
	for line, s := range h.Spans(behind) {
		const lineBytes, spanBytes = 26, 4 // but for the digits
		if size += spanBytes + digits(s.From) + digits(s.To); told[line] == nil {
			size += lineBytes
		}
		if size > atMost && last != behind {
			return told, last
		}
		told[line] = append(told[line], s)
		last = Dot{line, s.To}
	}
	return told, Dot{}
}

func digits(n uint64) int { return len(strconv.FormatUint(n, 10)) }

// Lacks walks the spans behind a dot that another set holds and this one does not, in the
// order of dots.
func (h *Held) Lacks(other *Held, behind Dot) iter.Seq2[Line, Span] {
	return func(yield func(Line, Span) bool) {
		walk := h.walk(behind)
		own, ok := walk.next()
		for line, s := range other.Spans(behind) {
			for ok && own.compare(line, s.From) < 0 {
				own, ok = walk.next()
			}
			for ok && own.line == line && own.From <= s.To && s.From <= s.To {
				if own.From > s.From && !yield(line, Span{s.From, own.From - 1}) {
					return
				}
				if s.From = own.To + 1; s.From <= s.To {
					own, ok = walk.next()
				}
			}
			if s.From <= s.To && !yield(line, s) {
				return
			}
		}
	}
}

// Covers reports whether everything that another set holds is held.
func (h *Held) Covers(other *Held) bool {
	for range h.Lacks(other, Dot{}) {
		return false
	}
	return true
}

// Without returns the set of what is held and is not in another.
func (h *Held) Without(gone *Held) *Held {
	if len(gone.pieces) == 0 {
		return h
	}
	left := &Held{}
	for line, s := range gone.Lacks(h, Dot{}) {
		left.put(line, s)
	}
	return left
}

// Clone returns a copy that shares nothing.
func (h *Held) Clone() *Held {
	c := &Held{pieces: make([][]lineSpan, len(h.pieces))}
	for i, p := range h.pieces {
		c.pieces[i] = slices.Clone(p)
	}
	return c
}

// AddSpan notes all dots of a line in a span.
func (h *Held) AddSpan(line Line, s Span) {
	var gaps []Span
	only := &Held{}
	only.put(line, s)
	for _, gap := range h.Lacks(only, Dot{line, s.From - 1}) {
		gaps = append(gaps, gap)
	}
	for _, gap := range gaps {
		h.Add(Dot{line, gap.From})
		if gap.To > gap.From {
			piece, at := h.find(Dot{line, gap.From})
			h.pieces[piece][at].To = gap.To - 1
			h.Add(Dot{line, gap.To}) // and so meets what stands behind
		}
	}
}
