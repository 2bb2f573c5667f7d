package logbook

// enter lets a change of the store begin, unless the log was removed; the caller unlocks
// leaving for reading.
func (l *Log) enter() error {
	l.leaving.RLock()
	if l.removed {
		l.leaving.RUnlock()
		return ErrRemoved
	}
	return nil
}

// Remove takes the log out of its store, for a mark, where its head is still at and same
// finds the rest as the caller saw it: while same runs, nothing comes in. From then on the
// log takes nothing (ErrRemoved), and whoever waits for a change is woken. Else nothing
// is changed.
func (l *Log) Remove(at Head, same func() error, mark []byte) error {
	l.leaving.Lock()
	defer l.leaving.Unlock()
	if l.removed {
		return ErrRemoved
	}
	if err := same(); err != nil {
		return err
	}
	if err := l.store.Remove(l.production, at, mark); err != nil {
		return err
	}
	l.removed = true
	l.changed.Wake()
	return nil
}
