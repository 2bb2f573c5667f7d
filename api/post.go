package api

import (
	"fmt"
	"slices"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// fieldsOfPost are what post writes of a note. Not among them: striking out, twins, and the discarding of
// refused edits.
var fieldsOfPost = []string{"about", "text", "to", "answers", "state"}

// onlyPost reports whether a caller writes notes of its own and nothing else.
func onlyPost(caller pairing.Caller, production logbook.ID) bool {
	return caller.May(pairing.Editor, production) != nil
}

// postMayMake refuses fields of a new note that are not for post.
func postMayMake(set []logbook.Change) error {
	for _, c := range set {
		if !slices.Contains(fieldsOfPost, c.Field) {
			return fmt.Errorf("%w: post sets about, text, to, answers and state of a note; %s is an editor's", pairing.ErrRole, c.Field)
		}
	}
	return nil
}

// guardOfPost keeps aside what post brings and may not write: all but notes that its own device began.
// service is the device in whose name the service writes. It is asked in the order of a push.
func guardOfPost(caller pairing.Caller, service logbook.ID, l *exchange.Peer) logbook.Guard {
	began := map[logbook.ID]bool{} // by this push
	return func(e *logbook.Edit) bool {
		if e.Kind != kinds.Note || e.Device != caller.Device || postMayMake(e.Set) != nil {
			return true
		}
		var first logbook.Dot
		here := false
		l.Read(func(b *logbook.Book) {
			var note logbook.View
			if note, here = b.Alone(kinds.Note, e.Record); here {
				first = note.CreatedDot()
			}
		})
		if here {
			return !wroteFor(l, first, caller.Device, service)
		}
		began[e.Record] = began[e.Record] || begins(e)
		return !began[e.Record]
	}
}

// begins reports whether an edit may be the first of a note: whoever replaces something has seen a note of
// somebody.
func begins(e *logbook.Edit) bool {
	for _, c := range e.Set {
		if len(c.Over) > 0 {
			return false
		}
	}
	_, says := e.Change("text")
	return says
}

// wroteFor reports whether a device wrote an edit, itself or through the service.
func wroteFor(l *exchange.Peer, d logbook.Dot, device, service logbook.ID) bool {
	held, err := l.Get([]logbook.Dot{d})
	if err != nil || len(held) != 1 {
		return false
	}
	e, err := logbook.DecodeEdit(held[0].Bytes)
	return err == nil && (e.Device == device || e.Device == service && held[0].Via == device)
}
