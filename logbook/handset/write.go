package handset

import (
	"encoding/binary"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
	"evenwhite/logbook/slate"
)

// A writer is who writes, and under which dot: the page's counter says it.
type writer struct {
	like  logbook.Edit // but for what the drafts say
	now   logbook.Millis
	newID func() logbook.ID
}

func (e *Engine) writer(s *said) writer {
	w := writer{now: s.now()}
	offset := logbook.Millis(s.whole("offsetMs", -int64(logbook.YearTenThousand)+1, int64(logbook.YearTenThousand)-1, 0))
	w.like = logbook.Edit{Production: e.production, Device: e.device, By: s.text("by"), At: w.now - offset, Offset: offset,
		Dot: logbook.Dot{Line: s.line("line"), N: uint64(s.whole("n", 1, 1<<62))}}
	w.newID = idsOf(w.now, s.chance())
	return w
}

// idsOf makes UUIDs of version 7 out of what was drawn by chance.
func idsOf(now logbook.Millis, chance []byte) func() logbook.ID {
	drawn := uint64(0)
	return func() logbook.ID {
		drawn++
		sum := logbook.Sum(binary.BigEndian.AppendUint64(append([]byte(nil), chance...), drawn))
		id := logbook.ID(sum[:16])
		var at [8]byte
		binary.BigEndian.PutUint64(at[:], uint64(now))
		copy(id[:6], at[2:])
		id[6], id[8] = id[6]&0x0f|0x70, id[8]&0x3f|0x80
		return id
	}
}

// Written are edits that the page is to store: readable, and in the bytes of the answer, each
// in a frame. The engine does not hold them before the page hands them in.
type Written struct {
	Edits []*logbook.Edit `json:"edits"`
}

// written makes edits of drafts. None is handed out where one would be refused.
func (w *writer) written(drafts []logbook.Draft, err error) (any, []byte, error) {
	if err != nil {
		return nil, nil, err
	}
	out, bytes := Written{Edits: []*logbook.Edit{}}, []byte{}
	for _, edit := range logbook.Act(&w.like, drafts, kinds.Rules.MostNames) {
		b, err := logbook.EncodeEdit(edit)
		if err == nil {
			err = kinds.Judge(edit)
		}
		if err != nil {
			return nil, nil, err
		}
		out.Edits, bytes = append(out.Edits, edit), appendFrame(bytes, b)
	}
	return &out, bytes, nil
}

// write makes edits of what somebody entered: a new record, a patch, a record struck out or
// brought back.
func (e *Engine) write(s *said, _ []byte) (any, []byte, error) {
	w, kind, act := e.writer(s), s.kind(), s.text("do")
	var object logbook.Value
	if act == "create" || act == "patch" {
		object = s.object("object")
	}
	if act == "create" {
		record := s.optional("record")
		if err := s.fault(); err != nil {
			return nil, nil, err
		}
		return w.written(e.created(kind, record, object, &w))
	}
	v, err := e.seen(s, kind)
	if err != nil {
		return nil, nil, err
	}
	switch act {
	case "patch":
		changes, err := amend.Patch(v, object)
		return w.written(v.Drafts(changes), err)
	case "strike":
		return w.written(v.Drafts([]logbook.Change{logbook.Strike(v)}), nil)
	case "restore":
		return w.written(amend.Restore(v), nil)
	}
	s.wrong("do", logbook.TextValue(act), "one of create, patch, strike, restore")
	return nil, nil, s.fault()
}

func (e *Engine) created(kind logbook.Kind, record logbook.ID, object logbook.Value, w *writer) ([]logbook.Draft, error) {
	changes, err := amend.Changes(kind, object)
	if err != nil {
		return nil, err
	}
	if record.IsZero() {
		record = w.newID()
	}
	if _, there := e.book().Record(record); there {
		return nil, fmt.Errorf("%w: record %s", ErrExists, record)
	}
	return slate.Resting(e.book(), []logbook.Draft{{Kind: kind, Record: record, Set: changes}}, w.now)
}

// seen finds the record that a person changes, as it was shown: its tag must be the one that
// was seen.
func (e *Engine) seen(s *said, kind logbook.Kind) (logbook.View, error) {
	record, tag := s.id("record"), s.text("seen")
	if err := s.fault(); err != nil {
		return logbook.View{}, err
	}
	v, err := review.Find(e.book(), kind, record)
	if err == nil && v.ETag() != tag {
		err = fmt.Errorf("%w: %s is %s", ErrStale, kind, record)
	}
	return v, err
}

// undo sets what one edit set back to what it replaced.
func (e *Engine) undo(s *said, _ []byte) (any, []byte, error) {
	w, d := e.writer(s), s.dot("dot")
	v, err := e.seen(s, s.kind())
	if err != nil {
		return nil, nil, err
	}
	return w.written(amend.Undo(v, d))
}

// event makes the edits of a button of take logging.
func (e *Engine) event(s *said, _ []byte) (any, []byte, error) {
	w, setUp, object := e.writer(s), s.id("setUp"), s.object("event")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	event, err := slate.ReadEvent(setUp, object)
	if err == nil {
		err = review.InScope(e.book(), setUp, logbook.ID{})
	}
	if err != nil {
		return nil, nil, err
	}
	return w.written(slate.Drafts(e.book(), event, w.newID, w.now))
}

// settle makes the edits of an answer: whether records are one or two, what a refused edit
// was to say, or that it is discarded. A conflict is settled by a patch.
func (e *Engine) settle(s *said, _ []byte) (any, []byte, error) {
	w, b := e.writer(s), e.book()
	switch {
	case s.has("twins"):
		twins := &said{v: s.object("twins")}
		answer, whole := twins.text("answer"), twins.flag("wholeRun")
		var ids []logbook.ID
		for item := range twins.v.Member("records").Items() {
			id, ok := item.ID()
			if _, there := b.Record(id); !ok || !there {
				twins.wrong("records", item, "ids of records that are in the log")
			}
			ids = append(ids, id)
		}
		if s.err == nil {
			s.err = twins.err.Within("twins")
		}
		if err := s.fault(); err != nil {
			return nil, nil, err
		}
		return w.written(amend.AnswerGroup(b, ids, answer, whole))
	case s.has("correct"):
		d, patch := s.dot("correct"), s.object("patch")
		if err := s.fault(); err != nil {
			return nil, nil, err
		}
		drafts, err := amend.Correct(b, d, patch, w.newID())
		if err == nil {
			drafts, err = slate.Resting(b, drafts, w.now)
		}
		return w.written(drafts, err)
	}
	d := s.dot("discard")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	_, drafts, err := amend.Discard(b, d, w.newID())
	return w.written(drafts, err)
}

// judge says whether what somebody types may stand, and what of it is unusual: of fields by
// their names in an edit, or of a whole edit in the bytes.
func (e *Engine) judge(s *said, in []byte) (any, []byte, error) {
	out := Judged{Errors: []FieldFault{}, Remarks: []Remark{}}
	if len(in) > 0 {
		edit, err := logbook.DecodeEdit(in)
		if err == nil {
			err = kinds.Judge(edit)
		}
		if err != nil {
			out.Errors = append(out.Errors, faultOf(err).Errors...)
			out.Refused = err.Error()
			return &out, nil, nil
		}
		out.remark(edit.Kind, edit.Set)
		return &out, nil, nil
	}
	kind, fields := s.kind(), s.object("fields")
	spec, ok := kinds.Of(kind)
	if !ok {
		s.wrong("kind", logbook.TextValue(string(kind)), "a kind of record")
	}
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	var set []logbook.Change
	for name, v := range fields.Members() {
		f, ok := spec.Field(name)
		if !ok {
			out.Errors = append(out.Errors, FieldFault{name, logbook.Shorten(string(v)), "a field of the kind " + string(kind)})
			continue
		}
		if v == logbook.Null && !f.Fact {
			continue
		}
		if wrong := kinds.JudgeField(f, v, true); wrong != nil {
			wrong = kinds.Rename(wrong, f, name)
			out.Errors = append(out.Errors, FieldFault{wrong.Field, logbook.Shorten(string(wrong.Value)), wrong.Allowed})
			continue
		}
		set = append(set, logbook.Change{Field: name, Value: v})
	}
	out.remark(kind, set)
	return &out, nil, nil
}

// Judged is what is to be said of values while they are typed.
type Judged struct {
	Refused string       `json:"refused,omitempty"` // of an edit: why it would apply to nothing
	Errors  []FieldFault `json:"errors"`
	Remarks []Remark     `json:"remarks"`
}

// A Remark says that a value is possible and unusual.
type Remark struct {
	Field string `json:"field"`
	Value string `json:"value"`
	Usual string `json:"usual"`
	Words string `json:"words"`
}

func (j *Judged) remark(kind logbook.Kind, set []logbook.Change) {
	for _, r := range kinds.Remarks(kind, set) {
		j.Remarks = append(j.Remarks, Remark{r.Field, logbook.Shorten(string(r.Value)), r.Usual, r.String()})
	}
}
