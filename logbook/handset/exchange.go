package handset

import (
	"bytes"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
)

// Asked says what a request brings. Its body, in rows, stands in the bytes.
type Asked struct {
	Edits int `json:"edits"`
}

// request makes the body of an exchange with the log that was last met at an address; none
// where it is met for the first time. With whole all records are written, as after the
// problem records-wanted.
func (e *Engine) request(s *said, _ []byte) (any, []byte, error) {
	var log logbook.Line
	if s.has("log") {
		log = s.line("log")
	}
	whole := s.flag("whole")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	if e.rest > 0 { // what is stored would be asked for again
		return nil, nil, ErrRest
	}
	q := e.replica.Request(log)
	q.Limit = int(s.whole("limitBytes", 1, 1<<30, 0))
	if most := int(s.whole("most", 0, exchange.MaxPush, exchange.MaxPush)); len(q.Edits) > most {
		q.Edits = q.Edits[:most]
	}
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	shared := e.replica.Shared(log)
	if q.Whole = whole; whole {
		shared = nil
	}
	body, err := q.Rows(shared)
	return &Asked{len(q.Edits)}, body, err
}

// Taken is what an answer brought. In the bytes stand two frames: what to store of the log,
// and the new edits, each again in a frame; both in one transaction.
type Taken struct {
	State
	Log   string    `json:"log"`
	New   int       `json:"new"`
	More  bool      `json:"more"`  // ask again at once
	Marks []Verdict `json:"marks"` // edits that the service refuses, or kept aside
}

// answer takes the body of a service's answer, in rows.
func (e *Engine) answer(s *said, in []byte) (any, []byte, error) {
	var line logbook.Line
	if s.has("line") {
		line = s.line("line")
	}
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	a, err := exchange.ReadAnswerRows(in, e.production, e.replica.Records)
	if err != nil {
		return nil, nil, err
	}
	out := Taken{Marks: []Verdict{}}
	var edits []byte
	for _, edit := range a.Edits {
		if !e.book().Held(edit.Dot) {
			b, err := logbook.EncodeEdit(edit)
			if err != nil {
				return nil, nil, err
			}
			edits = appendFrame(edits, b)
			out.New++
		}
	}
	for _, m := range a.Marks {
		out.Marks = append(out.Marks, Verdict{m.Dot.String(), m.Reason})
	}
	for _, r := range a.Answers {
		if r.Outcome != logbook.AnswerTaken && r.Outcome != logbook.AnswerRepeat {
			out.Marks = append(out.Marks, Verdict{r.Dot.String(), r.Outcome + ": " + r.Reason})
		}
	}
	log, more := e.replica.Take(a)
	e.book().Settle()
	out.Log, out.More, out.State = log.String(), more, e.told(line)
	return &out, appendFrame(appendFrame(nil, e.replica.Knowledge(log)), edits), nil
}

// Bundled says how many edits a bundle held, and how many of them are new here: those stand in
// the bytes, each in a frame.
type Bundled struct {
	Edits int `json:"edits"`
	New   int `json:"new"`
	// Damaged says where a bundle ended early; what stood before is taken.
	Damaged string `json:"damaged,omitempty"`
}

// bundle writes what is held, or only what no log is known to hold, as a file into the bytes;
// or takes in the file that stands there.
func (e *Engine) bundle(s *said, in []byte) (any, []byte, error) {
	unsent := s.flag("unsent")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	if len(in) > 0 {
		return e.unbundle(in)
	}
	if e.rest > 0 {
		return nil, nil, ErrRest
	}
	edits := e.replica.Edits(unsent)
	var out bytes.Buffer
	err := exchange.WriteBundle(&out, e.production, edits)
	return &Bundled{Edits: len(edits)}, out.Bytes(), err
}

// unbundle hands out what is new; the engine holds it when the page has stored it.
func (e *Engine) unbundle(in []byte) (any, []byte, error) {
	var told Bundled
	var out []byte
	var coming logbook.Held
	err := exchange.ReadBundle(bytes.NewReader(in), e.production, func(edit *logbook.Edit) error {
		told.Edits++
		if !e.book().Held(edit.Dot) && coming.Add(edit.Dot) {
			b, err := logbook.EncodeEdit(edit)
			if err != nil {
				return err
			}
			told.New++
			out = appendFrame(out, b)
		}
		return nil
	})
	if err != nil && told.Edits > 0 {
		told.Damaged, err = err.Error(), nil
	}
	return &told, out, err
}
