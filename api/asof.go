package api

import (
	"context"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/states"
)

// AsOf lends the book of a production as it was in one state. It must be closed.
type AsOf struct {
	logbook.Lender
	State states.State
	close func()
}

// Close lets go of the book.
func (a *AsOf) Close() { a.close() }

// State is the state of a production as it is.
func (l *Logs) State(production logbook.ID) (states.State, error) {
	head, err := l.store.Head(production)
	if err != nil {
		return states.State{}, l.told(production, err)
	}
	return l.stateAt(production, head)
}

func (l *Logs) stateAt(production logbook.ID, head logbook.Head) (states.State, error) {
	pages := func(after logbook.Seq, atMost int) ([]logbook.Stored, error) {
		return l.store.Read(production, after, atMost)
	}
	return l.digests.At(pages, production, head)
}

// StateNamed finds the state that a text names: nil where the text is empty. Errors wrap
// states.ErrName or states.ErrUnknown.
func (l *Logs) StateNamed(production logbook.ID, text string) (*states.State, error) {
	if text == "" {
		return nil, nil
	}
	now, err := l.State(production)
	if err != nil {
		return nil, err
	}
	found, err := states.Find(l.store, production, text, now)
	return &found, err
}

// StateOr is StateNamed, and where the text is empty the state of the production as it is.
func (l *Logs) StateOr(production logbook.ID, text string) (states.State, error) {
	named, err := l.StateNamed(production, text)
	switch {
	case err != nil:
		return states.State{}, err
	case named == nil:
		return l.State(production)
	}
	return *named, nil
}

// Handed keeps that a document of a state was handed out.
func (l *Logs) Handed(production logbook.ID, s states.State, now logbook.Millis) error {
	return states.Hand(l.store, production, s, now)
}

// AsOf lends the book of a production as it is, or as it was in a state that is wanted. Of an
// earlier state a second book is made, one at a time on the whole server: who asks for another waits. The
// error wraps states.ErrNotHeld where the log does not hold the state.
func (l *Logs) AsOf(ctx context.Context, production logbook.ID, wanted *states.State) (*AsOf, error) {
	now, err := l.State(production)
	if err != nil {
		return nil, err
	}
	if wanted != nil && wanted.Digest != now.Digest {
		return l.past(ctx, production, *wanted)
	}
	peer, err := l.Find(production)
	if err != nil {
		return nil, err
	}
	frozen, err := peer.Freeze()
	if err != nil {
		return nil, err
	}
	now, err = l.stateAt(production, frozen.Head())
	if err != nil || wanted != nil && wanted.Digest != now.Digest { // it went on meanwhile
		frozen.Close()
		if err != nil {
			return nil, err
		}
		return l.past(ctx, production, *wanted)
	}
	return &AsOf{frozen, now, frozen.Close}, nil
}

func (l *Logs) past(ctx context.Context, production logbook.ID, wanted states.State) (*AsOf, error) {
	leave, err := l.pasts.enter(logbook.ID{}, ctx)
	if err != nil {
		return nil, err
	}
	book, err := states.Book(l.store, production, kinds.Rules, wanted)
	if err != nil {
		leave()
		return nil, l.told(production, err)
	}
	return &AsOf{book, wanted, leave}, nil
}
