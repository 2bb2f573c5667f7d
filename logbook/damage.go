package logbook

import "maps"

// Damaged lists what of the log is not held, or is held and cannot be read by this
// version.
func (l *Log) Damaged() ([]Damage, error) {
	lost, err := l.store.Damaged(l.production)
	l.mu.RLock()
	defer l.mu.RUnlock()
	return append(lost, l.unread...), err
}

// Mend stores again what the store has lost since the log was opened, and reports
// whether there was any: the book still has it, and of what nobody pulled yet it is
// the only copy. Where that cannot be written now, a later reading tries again.
func (l *Log) Mend() (mended bool) {
	lost, err := l.store.Damaged(l.production)
	if err != nil || len(lost) == 0 {
		return false
	}
	wanted := map[Dot]bool{}
	l.Read(func(b *Book) {
		for _, d := range lost {
			if !d.Page && !d.Dot.IsZero() && b.Held(d.Dot) {
				wanted[d.Dot] = true
			}
		}
	})
	if len(wanted) == 0 {
		return false
	}
	held, err := l.store.Ranges(l.production)
	if err != nil {
		return false
	}
	maps.DeleteFunc(wanted, func(d Dot, _ bool) bool { return held.Has(d) })
	if len(wanted) == 0 {
		return false
	}
	var entries []Entry
	l.Read(func(b *Book) {
		add := func(e *Edit) {
			if !wanted[e.Dot] {
				return
			}
			if entry, err := entryOf(e, e.Device, e.At+e.Offset); err == nil {
				entries = append(entries, entry)
			}
		}
		for _, r := range b.Refused() {
			add(r.Edit)
		}
		for e := range b.Applied() {
			add(e)
		}
	})
	if len(entries) > 0 {
		receipts, err := l.store.Append(l.production, entries)
		for _, r := range receipts { // they are in the book
			l.landings.cover(r.Seq)
		}
		mended = err == nil
	}
	if mended {
		l.changed.Wake()
	}
	return mended
}
