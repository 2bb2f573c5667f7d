package slate

import "evenwhite/logbook"

// What the tests of clip names and takes look at from outside.
var (
	ClipRuleOf   = clipRuleOf
	CardAfter    = cardAfter
	SortByNumber = sortByNumber
)

func (r clipRule) Name(card, clip int, date string) string { return r.name(card, clip, date) }

func (r clipRule) ClipNumber(name string) (number, at, end int, ok bool) { return r.clipNumber(name) }

// NextClipName is the name of the next clip on a card.
func NextClipName(b *logbook.Book, body, setUp logbook.View, card string) string {
	return counterOf(b, body).next(card, dayOfSetUp(b, setUp))
}
