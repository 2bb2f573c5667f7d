package deviation

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/setup"
)

// Kept is what was off in each set-up of a log when somebody asked, and what that rested on: an
// edit costs the set-ups whose answer it may change. It is not for use by several at once.
type Kept struct {
	head   logbook.Head
	setUps map[logbook.ID]*keptSetUp
	held   int // deviations
}

type keptSetUp struct {
	found    []Deviation
	clips    []OffClip
	on       logbook.Seen
	leans    setup.Leans
	doubtful bool         // the leans are to be asked again
	accepted []logbook.ID // the acceptances that may reach it
	at       logbook.Millis
	still    logbook.Millis // how long it stands by the clock; 0: for good
}

const (
	// mostKept bounds what is kept of a log: a deviation takes a kilobyte.
	mostKept = 100_000
	// What depends on the time by the clock is said anew after so long: where somebody works
	// ages are told in minutes, where nobody does they only weigh cards.
	stillWorked = logbook.Millis(10_000)
	stillOver   = logbook.Millis(600_000)
)

// Of is Of for a log that was asked before.
func (k *Kept) Of(f *logbook.Frozen, scope Scope, now logbook.Millis) ([]Deviation, error) {
	all := []Deviation{}
	w, err := k.each(f, scope, now, func(s *keptSetUp) { all = append(all, s.found...) })
	if err != nil {
		return nil, err
	}
	return w.whole(all), nil
}

// OffClips is OffClips for a log that was asked before.
func (k *Kept) OffClips(f *logbook.Frozen, scope Scope, now logbook.Millis) (all [][]OffClip, err error) {
	_, err = k.each(f, scope, now, func(s *keptSetUp) { all = append(all, s.clips) })
	return all, err
}

// each hands on what is kept of each set-up of a scope, or found anew.
func (k *Kept) each(f *logbook.Frozen, scope Scope, now logbook.Millis, tell func(*keptSetUp)) (*walk, error) {
	changed, ok, err := f.ChangedSince(k.head)
	if err != nil {
		return nil, err
	}
	if !ok || k.setUps == nil {
		k.setUps, k.held = map[logbook.ID]*keptSetUp{}, 0
	}
	k.head = f.Head()
	for id, s := range k.setUps {
		if s.on.Meets(changed) {
			k.forget(id)
		}
		s.doubtful = s.doubtful || s.leans.Meets(changed)
	}
	w := walkOf(f, scope, now, true)
	w.each(func(setUp logbook.View) { tell(k.look(w, setUp)) })
	return w, nil
}

func (k *Kept) forget(id logbook.ID) {
	k.held -= len(k.setUps[id].found)
	delete(k.setUps, id)
}

// look finds what is kept of a set-up, or looks at it anew. The book notes.
func (k *Kept) look(w *walk, setUp logbook.View) *keptSetUp {
	r, now, acceptances := w.reader, w.now, w.acceptances
	var some []Acceptance
	var accepted []logbook.ID
	for i := range acceptances {
		if acceptances[i].concerns(setUp) {
			some, accepted = append(some, acceptances[i]), append(accepted, acceptances[i].view.ID)
		}
	}
	if s := k.setUps[setUp.ID]; s != nil {
		inTime := s.still == 0 || max(s.at-now, now-s.at) <= s.still
		if inTime && slices.Equal(s.accepted, accepted) && (!s.doubtful || r.Again(&s.leans)) {
			s.doubtful = false
			return s
		}
		k.forget(setUp.ID)
	}
	s := &keptSetUp{accepted: accepted, at: now}
	r.ByClock()
	r.Leans()
	s.on = w.book.Noting(func() {
		w.book.Resolve(setUp.ID)
		for i := range some {
			w.book.Note(some[i].on)
		}
		read := r.ReadToWrap(setUp, now)
		finder := NewFinder(read)
		s.found = finder.Deviations(some)
		s.clips = finder.offClips()
		if s.still = stillOver; read.Worked() {
			s.still = stillWorked
		}
	})
	if s.leans = r.Leans(); !r.ByClock() {
		s.still = 0
	}
	for id := range k.setUps {
		if k.held+len(s.found) <= mostKept {
			break
		}
		k.forget(id)
	}
	k.setUps[setUp.ID] = s
	k.held += len(s.found)
	return s
}
