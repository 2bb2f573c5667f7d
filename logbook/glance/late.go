package glance

import (
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// lateIn finds what was entered after the closing of its day.
type lateIn struct {
	book   *logbook.Book
	setUps map[logbook.ID]bool // whether anything of a set-up was, once looked up
}

// clip reports whether something of a clip was: what its row rests on, or more of its set-up.
func (l *lateIn) clip(c *ListedClip) bool {
	setUp, ok := l.book.RecordOf(kinds.SetUp, c.SetUpID)
	if !ok {
		return false
	}
	day, ok := l.book.RecordOf(kinds.Day, setUp.Ref("day"))
	if _, closed := setup.ClosedSince(day); !ok || !closed {
		return false
	}
	late := func(v logbook.View) bool { return len(setup.AfterClosing(day, v)) > 0 }
	anything, known := l.setUps[setUp.ID]
	if !known {
		anything = late(setUp)
		for _, kind := range []logbook.Kind{kinds.Light, kinds.Reading, kinds.White} {
			for _, v := range l.book.Referring(kind, "setUp", setUp.ID) {
				anything = anything || late(v)
			}
		}
		l.setUps[setUp.ID] = anything
	}
	clip, _ := l.book.RecordOf(kinds.Clip, c.Clip)
	if anything || late(clip) {
		return true
	}
	for _, key := range clip.Keys("takes") {
		if id, err := logbook.ParseID(key); err == nil {
			if take, ok := l.book.RecordOf(kinds.Take, id); ok && late(take) {
				return true
			}
		}
	}
	return false
}
