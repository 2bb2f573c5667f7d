package handset

import (
	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
)

// suppose says what a white or a reading that somebody is typing would say of its set-up.
func (e *Engine) suppose(s *said, _ []byte) (any, []byte, error) {
	kind, object, now := s.kind(), s.object("typed"), s.now()
	if kind != kinds.Reading && kind != kinds.White {
		s.wrong("kind", logbook.TextValue(string(kind)), "reading or white")
	}
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	changes, err := amend.Changes(kind, object)
	if err != nil {
		return nil, nil, err
	}
	drafts, err := slate.Resting(e.book(), []logbook.Draft{{Kind: kind, Set: changes}}, now)
	if err != nil {
		return nil, nil, err
	}
	scratch, typed, err := e.scratch(kind, drafts[0].Set, now)
	if err != nil {
		return nil, nil, err
	}
	v, err := logbook.FindRecord(scratch, kind, "typed", typed)
	if err != nil {
		return nil, nil, err
	}
	var out glance.Supposed
	if kind == kinds.White {
		out, err = glance.SupposeWhite(e.book(), v, now)
	} else {
		out, err = glance.SupposeReading(e.book(), scratch, v, now)
	}
	return &out, nil, err
}
