package cameras

import (
	"bytes"
	"cmp"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Known says which cards an answer may rest on, at whatever remove; the zero one: all
// that were not withdrawn.
type Known struct {
	Counts func(*Card) bool
	// Weights are of a choice that wrote down what it rests on: these cards alone, struck out
	// since or not, and each card of the body with its weight.
	Weights map[logbook.ID]float64
	listed  map[logbook.ID]float64 // Weights, where another body is asked about: its cards alone
	then    logbook.Millis         // the cards as they stood then, struck out since or not; 0: as they stand
	// read hands out what a walk read already; nil: each card is read where it is asked for. A function,
	// so that what asks about no walk does not bring one along.
	read func(logbook.View) (*Card, error)
}

// KnownOn are the cards of a date or an earlier one. A card that belongs to no day counts
// for what is later than it; so do all where no date is asked about.
func KnownOn(date string, at logbook.Millis) Known {
	return Known{Counts: func(c *Card) bool {
		if date == "" || c.Date == "" {
			return c.At <= at
		}
		return c.Date <= date
	}}
}

// KnownBy are the cards that were both taken and entered by a moment, struck out since or not.
func KnownBy(at logbook.Millis) Known {
	return Known{Counts: func(c *Card) bool { return c.At <= at && c.View.CreatedAt() <= at }, then: at}
}

// only are the cards of a list; nil where there is none.
func (k Known) only() map[logbook.ID]float64 {
	if k.Weights != nil {
		return k.Weights
	}
	return k.listed
}

// samples are those that refer to a record, by when they were entered, but for those that the
// answer may not rest on.
func (k Known) samples(b *logbook.Book, field string, to logbook.ID) (all []logbook.View) {
	switch {
	case k.only() != nil:
		for id := range k.only() {
			if v, ok := b.RecordOf(kinds.Sample, id); ok && v.Ref(field) == to {
				all = append(all, v)
			}
		}
		slices.SortFunc(all, func(x, y logbook.View) int {
			return cmp.Or(cmp.Compare(x.CreatedAt(), y.CreatedAt()), bytes.Compare(x.ID[:], y.ID[:]))
		})
		return all
	case k.then != 0:
		for _, v := range b.AllReferring(kinds.Sample, field, to) {
			if !lighting.WithdrawnAt(v, k.then) {
				all = append(all, v)
			}
		}
		return all
	}
	for _, v := range b.Referring(kinds.Sample, field, to) {
		if !lighting.Withdrawn(v) {
			all = append(all, v)
		}
	}
	return all
}

// card reads a sample.
func (k Known) card(b *logbook.Book, v logbook.View) (*Card, error) {
	if k.read == nil {
		return cardOf(b, v)
	}
	return k.read(v)
}

func (k Known) counts(c *Card) bool { return k.only() != nil || k.Counts == nil || k.Counts(c) }
