package logbook

import (
	"iter"
	"slices"
	"sort"
)

// An Order keeps items sorted while they come and go: in pieces, so that one item moves
// few others. No two items are alike.
type Order[T any] struct {
	compare func(a, b T) int
	pieces  [][]T // none is empty
}

// mostInPiece is how many items a piece holds before it is cut in two.
const mostInPiece = 512

// NewOrder makes an order of items, which need not be sorted yet.
func NewOrder[T any](compare func(a, b T) int, items []T) *Order[T] {
	o := &Order[T]{compare: compare}
	slices.SortFunc(items, compare)
	for piece := range slices.Chunk(items, mostInPiece/2) {
		o.pieces = append(o.pieces, slices.Clone(piece))
	}
	return o
}

// Add puts an item in.
func (o *Order[T]) Add(item T) {
	at, in, found := o.find(item)
	if found {
		return
	}
	if len(o.pieces) == 0 {
		o.pieces = [][]T{{item}}
		return
	}
	piece := slices.Insert(o.pieces[at], in, item)
	o.pieces[at] = piece
	if len(piece) > mostInPiece {
		half := len(piece) / 2
		if at == len(o.pieces)-1 && in == len(piece)-1 {
			half = len(piece) - 1 // most come at the end: pieces stay full
		}
		o.pieces = slices.Insert(o.pieces, at+1, slices.Clone(piece[half:]))
		clear(piece[half:])
		o.pieces[at] = piece[:half]
	}
}

// Remove takes an item out.
func (o *Order[T]) Remove(item T) {
	at, in, found := o.find(item)
	if !found {
		return
	}
	o.pieces[at] = slices.Delete(o.pieces[at], in, in+1)
	if len(o.pieces[at]) == 0 {
		o.pieces = slices.Delete(o.pieces, at, at+1)
	}
}

// find is where an item stands or belongs.
func (o *Order[T]) find(item T) (piece, in int, found bool) {
	piece = sort.Search(len(o.pieces), func(i int) bool { return o.compare(o.pieces[i][0], item) > 0 })
	if piece = max(piece-1, 0); len(o.pieces) == 0 {
		return 0, 0, false
	}
	in, found = slices.BinarySearchFunc(o.pieces[piece], item, o.compare)
	return piece, in, found
}

// From walks the items from the first on of which begun says yes: of no later one it says
// no.
func (o *Order[T]) From(begun func(T) bool) iter.Seq[T] {
	return func(yield func(T) bool) {
		at, in := o.first(begun)
		for ; at < len(o.pieces); at, in = at+1, 0 {
			for _, item := range o.pieces[at][in:] {
				if !yield(item) {
					return
				}
			}
		}
	}
}

// Before is the last item of which begun says no.
func (o *Order[T]) Before(begun func(T) bool) (item T, ok bool) {
	switch at, in := o.first(begun); {
	case in > 0:
		return o.pieces[at][in-1], true
	case at > 0:
		return o.pieces[at-1][len(o.pieces[at-1])-1], true
	}
	return item, false
}

func (o *Order[T]) first(begun func(T) bool) (at, in int) {
	at = sort.Search(len(o.pieces), func(i int) bool { return begun(o.pieces[i][len(o.pieces[i])-1]) })
	if at < len(o.pieces) {
		in = sort.Search(len(o.pieces[at]), func(i int) bool { return begun(o.pieces[at][i]) })
	}
	return at, in
}
