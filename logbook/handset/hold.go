package handset

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"iter"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/slate"
)

// frames walks parts of bytes, each with its length before it as a uvarint. The error wraps
// logbook.ErrDamaged and is the last.
func frames(in []byte) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		for at := 0; len(in) > 0; at++ {
			size, n := binary.Uvarint(in)
			if n <= 0 || size > uint64(len(in)-n) {
				yield(nil, fmt.Errorf("%w: part %d of the page ends too early", logbook.ErrDamaged, at+1))
				return
			}
			if !yield(in[n:n+int(size)], nil) {
				return
			}
			in = in[n+int(size):]
		}
	}
}

func appendFrame(out, part []byte) []byte {
	return append(binary.AppendUvarint(out, uint64(len(part))), part...)
}

// State is what the engine holds.
type State struct {
	Production logbook.ID `json:"production"`
	Title      string     `json:"title,omitempty"`
	Held       int        `json:"held"`
	Refused    int        `json:"refused"`
	// Mine counts the edits of this device that are here, Unsent those of them that no log
	// is known to hold.
	Mine   int `json:"mine"`
	Unsent int `json:"unsent"`
	// Rest is what the page said of the stored edits that were not handed in yet, 0 once all are here, and From is
	// since when all are here: what is learnt from earlier days may move.
	Rest  int        `json:"rest"`
	From  *time.Time `json:"from,omitempty"`
	Rules int        `json:"rules"`
	// LineOver says that the line which was asked about is over: write under a new one.
	LineOver bool `json:"lineOver"`
}

func (e *Engine) told(line logbook.Line) State {
	b := e.book()
	st := State{Production: e.production, Held: count(b.Holding()), Refused: len(b.Refused()),
		Mine: e.replica.Own(), Unsent: e.replica.Unsent(), Rest: e.rest, Rules: kinds.Rules.Version,
		LineOver: line != (logbook.Line{}) && e.replica.Over(line)}
	if v, ok := b.RecordOf(kinds.Production, e.production); ok {
		st.Title = v.Text("title")
	}
	if e.rest > 0 && e.from < logbook.Ever {
		from := e.from.Time()
		st.From = &from
	}
	return st
}

func count(h *logbook.Held) (n int) {
	for _, s := range h.Spans(logbook.Dot{}) {
		n += int(s.To - s.From + 1)
	}
	return n
}

func (e *Engine) state(s *said, _ []byte) (any, []byte, error) {
	var line logbook.Line
	if s.has("line") {
		line = s.line("line")
	}
	told := e.told(line)
	return &told, nil, s.fault()
}

// Held is what became of a page of edits.
type Held struct {
	State
	New     int               `json:"new"`
	Marks   []Verdict         `json:"marks"` // edits of the page that are refused, or that this version cannot read
	Records []json.RawMessage `json:"records,omitempty"`
}

// A Verdict is why an edit applies to nothing. Dot is missing where it cannot be read.
type Verdict struct {
	Dot    string `json:"dot,omitempty"`
	Reason string `json:"reason"`
}

// hold takes a page of stored edits, each in a frame. What cannot be read is told and left
// out: it closes no log. valid says that an engine held all of them before and refused none.
func (e *Engine) hold(s *said, in []byte) (any, []byte, error) {
	rest, from := s.whole("rest", 0, 1<<31-1, int64(e.rest)), s.whole("from", 0, int64(logbook.YearTenThousand)-1, int64(e.from))
	wrote, show, known := s.flag("wrote"), s.flag("show"), s.flag("valid")
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	out := Held{Marks: []Verdict{}}
	var valid [][]byte
	var edits []*logbook.Edit
	var line logbook.Line
	unread := func(err error) { out.Marks = append(out.Marks, Verdict{Reason: err.Error()}) }
	for part, err := range frames(in) {
		if err != nil {
			return nil, nil, err
		}
		if known {
			valid = append(valid, part)
			continue
		}
		edit, err := logbook.DecodeEdit(part)
		if err == nil && edit.Production != e.production {
			err = fmt.Errorf("it is of production %s", edit.Production)
		}
		if err != nil {
			unread(err)
			continue
		}
		edits = append(edits, edit)
	}
	b := e.book()
	before := count(b.Holding())
	for _, err := range e.replica.HoldValid(valid) {
		unread(err)
	}
	for _, edit := range edits {
		if line = edit.Dot.Line; wrote {
			e.replica.Wrote(edit)
		} else {
			e.replica.Hold(edit)
		}
		if r, refused := b.Refusal(edit.Dot); refused {
			out.Marks = append(out.Marks, Verdict{edit.Dot.String(), r.Reason})
		}
	}
	b.Settle()
	e.rest, e.from = int(rest), logbook.Millis(from)
	if out.State = e.told(line); show {
		out.Records = review.Changed(b, edits).Records
	}
	out.New = out.Held - before
	return &out, nil, nil
}

// Prepared says whether all is prepared.
type Prepared struct {
	State
	Done bool `json:"done"`
}

// prepare works out what is kept beside the records: what the next take is made from, twins,
// conflicts, what was entered apart. Each call looks at so many records; what comes in meanwhile
// is looked at as well. The first to need it would wait for all.
func (e *Engine) prepare(s *said, _ []byte) (any, []byte, error) {
	most := int(s.whole("most", 1, 1<<30, 256))
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	out := Prepared{Done: true}
	for _, keep := range []logbook.Keep{slate.KeepShots, amend.KeepTwins, amend.KeepConflicts, setup.KeepApart} {
		if out.Done = out.Done && e.book().Prepare(keep, most); !out.Done {
			break
		}
	}
	out.State = e.told(logbook.Line{})
	return &out, nil, nil
}
