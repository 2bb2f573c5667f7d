package logbook

import (
	"maps"
	"slices"
)

// Whoever keeps an answer must know what it rests on. A book that notes writes down, in whole
// numbers, what is asked of it: records by id, those that refer to one, kinds of them. What an
// edit changes is said in the same numbers. Two things may share one: then an answer is worked
// out again for nothing.

// Seen is what was asked of a book, in rising order.
type Seen []uint32

// notes are those of a book that notes, the innermost call of Noting last.
type notes struct{ open []map[uint32]struct{} }

// everything stands for a look at all that there is.
var everything = seenHash("everything")

func seenHash(parts ...string) uint32 {
	sum := uint32(2166136261) // FNV-1a
	for _, part := range parts {
		for i := range len(part) {
			sum = (sum ^ uint32(part[i])) * 16777619
		}
		sum = (sum ^ 0xff) * 16777619
	}
	return sum
}

func seenRecord(id ID) uint32 { return seenHash("record", string(id[:])) }

func seenKind(kind Kind) uint32 { return seenHash("kind", string(kind)) }

func seenReferring(to referrer) uint32 {
	return seenHash("to", string(to.kind), to.field, string(to.to[:]))
}

// Noted is the same book, which notes what is asked of it and of the records that it shows.
func (b *Book) Noted() *Book {
	b.Settle()
	twin := *b
	twin.notes, twin.orders = &notes{}, &orders{} // whose views show this book
	return &twin
}

// Noting returns what f asks of a book that notes, and of another one nothing.
func (b *Book) Noting(f func()) Seen {
	seen := b.NotingApart(f)
	b.Note(seen)
	return seen
}

// NotingApart is Noting where whoever else notes does not rest on what f asks.
func (b *Book) NotingApart(f func()) Seen {
	if b.notes == nil {
		f()
		return nil
	}
	n := b.notes
	n.open = append(n.open, map[uint32]struct{}{})
	defer func() { n.open = n.open[:len(n.open)-1] }() // also where f does not return
	f()
	return slices.Sorted(maps.Keys(n.open[len(n.open)-1]))
}

// Note notes what an answer rests on that was worked out before.
func (b *Book) Note(seen Seen) {
	if n := b.notes; n != nil && len(n.open) > 0 {
		for _, one := range seen {
			n.open[len(n.open)-1][one] = struct{}{}
		}
	}
}

func (b *Book) note(one uint32) {
	if n := b.notes; n != nil && len(n.open) > 0 {
		n.open[len(n.open)-1][one] = struct{}{}
	}
}

func (b *Book) noteRecord(id ID) {
	if b.notes != nil {
		b.note(seenRecord(id))
	}
}

func (b *Book) noteKind(kind Kind) {
	if b.notes != nil {
		b.note(seenKind(kind))
	}
}

func (b *Book) noteReferring(to referrer) {
	if b.notes != nil {
		b.note(seenReferring(to))
	}
}

// noteAll notes a look at all that there is.
func (b *Book) noteAll() { b.note(everything) }

// Meets reports whether something is in both.
func (s Seen) Meets(other Seen) bool {
	if len(s) < len(other) {
		s, other = other, s
	}
	for _, one := range other {
		if _, found := slices.BinarySearch(s, one); found {
			return true
		}
	}
	return false
}

// Rested is an answer with what it rests on.
type Rested[T any] struct {
	Value T
	On    Seen
}

// Resting looks an answer about a book up, or works it out and keeps it. Who is given one that
// was worked out for somebody else rests on the same.
func Resting[K comparable, T any](b *Book, kept map[K]Rested[T], key K, work func() T) T {
	known := RestingApart(b, kept, key, work)
	b.Note(known.On)
	return known.Value
}

// RestingApart is Resting for whoever takes little of the answer, and says by itself what.
func RestingApart[K comparable, T any](b *Book, kept map[K]Rested[T], key K, work func() T) Rested[T] {
	known, ok := kept[key]
	if !ok {
		known.On = b.NotingApart(func() { known.Value = work() })
		kept[key] = known
	}
	return known
}

// mostChanges is how many edits ChangedSince looks at.
const mostChanges = 10_000

// ChangedSince is what came after a head, as Noting tells it; ok is false where that is another
// log's, or too long ago.
func (f *Frozen) ChangedSince(before Head) (changed Seen, ok bool, err error) {
	if before.Identity != f.head.Identity || before.Seq > f.head.Seq || f.head.Seq-before.Seq > mostChanges {
		return nil, false, nil
	}
	all := map[uint32]struct{}{}
	for at := before.Seq; at < f.head.Seq; {
		page, err := f.log.store.Read(f.log.production, at, PageBytes)
		if err != nil {
			return nil, false, err
		}
		if len(page) == 0 {
			break // what is left is damaged
		}
		f.Read(func(b *Book) {
			for i := range page {
				if at = page[i].Seq; at > f.head.Seq {
					break
				}
				if e, err := DecodeEdit(page[i].Bytes); err == nil {
					b.changes(e, all)
				}
			}
		})
	}
	if len(all) > 0 {
		all[everything] = struct{}{}
	}
	return slices.Sorted(maps.Keys(all)), true, nil
}

// changes adds what may read otherwise because of an edit that is in the book: its record, those
// that read as one with it or with one that it is answered to be, and what it refers to.
func (b *Book) changes(e *Edit, all map[uint32]struct{}) {
	touch := func(id ID) {
		all[seenRecord(id)] = struct{}{}
		for r := b.first(id); r != nil; r = r.other {
			for _, m := range b.members(r) {
				all[seenRecord(m.id)] = struct{}{}
			}
		}
	}
	touch(e.Record)
	all[seenKind(e.Kind)] = struct{}{}
	for i := range e.Set {
		refers(&e.Set[i], func(field string, to ID) bool {
			all[seenReferring(referrer{e.Kind, field, to})] = struct{}{}
			if field+"/" == SamePrefix {
				touch(to)
			}
			return true
		})
	}
}
