package exchange_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// drawEdits makes edits of which many change a record that another made, in lines
// that run on, jump and take turns.
func drawEdits(t *rapid.T) []*logbook.Edit {
	var all []*logbook.Edit
	for range rapid.IntRange(0, 12).Draw(t, "edits") {
		e := logtest.DrawEdit(t)
		if len(all) > 0 && rapid.Bool().Draw(t, "goes on") {
			last := all[rapid.IntRange(0, len(all)-1).Draw(t, "from")]
			e.Dot, e.Device, e.By, e.Offset = logbook.Dot{Line: last.Dot.Line, N: min(last.Dot.N+1, 1<<62)}, last.Device, last.By, last.Offset
			if rapid.Bool().Draw(t, "same record") {
				e.Record, e.Kind, e.Set[0].Over = last.Record, last.Kind, []logbook.Dot{last.Dot}
			}
		}
		if _, err := logbook.EncodeEdit(e); err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

func bytesOfAll(t interface{ Fatal(...any) }, edits []*logbook.Edit) (all [][]byte) {
	for _, e := range edits {
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, b)
	}
	return all
}

func sameBytes(a, b [][]byte) bool {
	return bytes.Equal(bytes.Join(a, nil), bytes.Join(b, nil)) && len(a) == len(b)
}

// heldOf makes what a side holds of edits: for its writer and for its reader.
func heldOf(edits []*logbook.Edit) (
	func(logbook.Dot) (logbook.RecordRef, bool), func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error),
) {
	held := map[logbook.Dot]logbook.RecordRef{}
	for _, e := range edits {
		held[e.Dot] = logbook.RecordRef{Kind: e.Kind, Record: e.Record}
	}
	one := func(d logbook.Dot) (logbook.RecordRef, bool) { ref, ok := held[d]; return ref, ok }
	return one, func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error) { return held, nil }
}

func TestRowsOfRequests(t *testing.T) {
	t.Run("give every edit back without loss", rapid.MakeCheck(func(t *rapid.T) {
		edits := drawEdits(t)
		cut := rapid.IntRange(0, len(edits)).Draw(t, "held before")
		known, held := heldOf(edits[:cut])
		q := exchange.Request{
			Run: logtest.Line(5), Cursor: "a \"cursor\"", Limit: 7, Have: logbook.Ranges{logtest.Line(1): {{From: 1, To: 4}, {From: 7, To: 7}}},
			Edits: edits[cut:],
		}
		if rapid.Bool().Draw(t, "parts") {
			q.Parts, q.ListBehind = true, logtest.Dot(9, rapid.Uint64Range(1, 1<<62).Draw(t, "behind"))
			q.Want = logbook.Ranges{logtest.Line(2): {{From: 3, To: 3}}, logtest.Line(4): {{From: 1, To: 1 << 62}}}
		}
		if rapid.Bool().Draw(t, "whole") {
			q.Whole, known, held = true, nil, nil
		}
		text, err := q.Rows(known)
		if err != nil {
			t.Fatal(err)
		}
		read, err := exchange.ReadRequestRows(text, logtest.Production, held)
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		if !sameBytes(bytesOfAll(t, read.Edits), bytesOfAll(t, q.Edits)) {
			t.Fatalf("other edits came out of\n%s", text)
		}
		read.Edits, q.Edits = nil, nil
		if got, want := fmt.Sprintf("%+v", read), fmt.Sprintf("%+v", q); got != want {
			t.Fatalf("got %s, want %s", got, want)
		}
	}))
	t.Run("and are nothing where they were cut", func(t *testing.T) {
		text := rowsOfCorrections(t)
		for cut := range text {
			if q, err := exchange.ReadRequestRows(text[:cut], logtest.Production, nil); !errors.Is(err, exchange.ErrRows) {
				t.Fatalf("cut at %d of %d: got %+v and %v, want that the rows cannot be read", cut, len(text), q, err)
			}
		}
	})
	t.Run("show where a byte was changed, or that an edit is none", func(t *testing.T) {
		text := rowsOfCorrections(t)
		want := bytesOfAll(t, corrections())
		for at := range text {
			for _, c := range []byte{'0', '"', ']', text[at] ^ 1} {
				changed := bytes.Clone(text)
				changed[at] = c
				q, err := exchange.ReadRequestRows(changed, logtest.Production, nil)
				if err == nil && !sameBytes(bytesOfAll(t, q.Edits), want) {
					t.Fatalf("with %q at %d other edits came out of\n%s", c, at, changed)
				}
			}
		}
	})
}

// corrections are edits of one record, with everything that rows can say.
func corrections() []*logbook.Edit {
	line, other := logtest.Line(1), logtest.Line(2)
	made := &logbook.Edit{
		Production: logtest.Production, Kind: kinds.Clip, Record: logtest.ID(2), Device: logtest.ID(3),
		Dot: logbook.Dot{Line: line, N: 1}, At: 1000, Offset: -12, By: "2nd AC",
		Set: []logbook.Change{{Field: "kelvin", Value: "5600.00"}, {Field: "lens", Value: `"50 mm"`}},
	}
	next := &logbook.Edit{
		Production: logtest.Production, Kind: kinds.Clip, Record: logtest.ID(2), Device: logtest.ID(3),
		Dot: logbook.Dot{Line: line, N: 2}, At: 900, Offset: -12, By: "2nd AC", Act: logbook.Dot{Line: line, N: 1},
		Set:   []logbook.Change{{Field: "kelvin", Value: "-3", Over: []logbook.Dot{{Line: line, N: 1}, {Line: other, N: 9}}}},
		Extra: []logbook.Member{{Name: "mood", Value: `{"a":[1.0]}`}},
	}
	apart := &logbook.Edit{
		Production: logtest.Production, Kind: "ofTomorrow", Record: logtest.ID(4), Device: logtest.ID(5),
		Dot: logbook.Dot{Line: other, N: 7}, At: 2000, By: "Ä\n",
		Set: []logbook.Change{{Field: "x/ä", Value: "null", Over: []logbook.Dot{{Line: line, N: 1}}}},
	}
	return []*logbook.Edit{made, next, apart}
}

func rowsOfCorrections(t *testing.T) []byte {
	t.Helper()
	q := exchange.Request{Edits: corrections()}
	nothing, _ := heldOf(nil)
	text, err := q.Rows(nothing)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestRowsLeaveOutWhatIsHeld(t *testing.T) {
	made := corrections()[0]
	later := *made
	later.Dot, later.Set = logtest.Dot(2, 1), []logbook.Change{{Field: "lens", Value: `"35 mm"`, Over: []logbook.Dot{made.Dot}}}
	known, held := heldOf([]*logbook.Edit{made})
	q := exchange.Request{Edits: []*logbook.Edit{&later}}
	text, err := q.Rows(known)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(text), made.Record.String()) || strings.Contains(string(text), `"of"`) {
		t.Errorf("the record is written although its creation is held:\n%s", text)
	}
	read, err := exchange.ReadRequestRows(text, logtest.Production, held)
	if err != nil || read.Edits[0].Record != made.Record || read.Edits[0].Kind != made.Kind {
		t.Errorf("got %+v and %v", read.Edits, err)
	}
	t.Run("and the receiver says so where it does not hold it", func(t *testing.T) {
		_, err := exchange.ReadRequestRows(text, logtest.Production, nil)
		if !errors.Is(err, exchange.ErrRecords) || !strings.Contains(err.Error(), made.Dot.String()) {
			t.Errorf("got %v, want that a record is missing, and the dot", err)
		}
	})
	t.Run("and notices where it holds another edit under the dot", func(t *testing.T) {
		other := *made
		other.Record = logtest.ID(9)
		_, held := heldOf([]*logbook.Edit{&other})
		if q, err := exchange.ReadRequestRows(text, logtest.Production, held); !errors.Is(err, exchange.ErrRecords) {
			t.Errorf("got %+v and %v, want that a record is missing", q.Edits, err)
		}
	})
	t.Run("and a dot of another record is no reason to leave it out", func(t *testing.T) {
		stray := later
		stray.Record = logtest.ID(9)
		q := exchange.Request{Edits: []*logbook.Edit{&stray}}
		text, err := q.Rows(known)
		if err != nil {
			t.Fatal(err)
		}
		if read, err := exchange.ReadRequestRows(text, logtest.Production, held); err != nil || read.Edits[0].Record != stray.Record {
			t.Errorf("got %+v and %v", read.Edits, err)
		}
	})
}

func TestRowsThatCannotBeReadAreRefusedInWords(t *testing.T) {
	const begin = "[\"rows\",1]\n"
	const placed = begin + `["line","aa00000000000000"]` + "\n" + `["device","018f6d2a-0000-7000-8000-000000000001"]` + "\n" +
		`["person","DIT"]` + "\n" + `["field","lens",1]` + "\n" + `["in",0,1,0,0,0]` + "\n"
	const defined = placed + `["of","018f6d2a-0000-7000-8000-000000000002","clip"]` + "\n"
	for name, c := range map[string]struct {
		text string
		says []string
	}{
		"nothing":                         {"", []string{"row 1", "cut off"}},
		"JSON of the other form":          {`{"edits":[]}` + "\n", []string{"row 1", "JSON list"}},
		"another form":                    {"[\"rows\",2]\n", []string{"row 1", `"2]"`, "from 1 to 1"}},
		"no form":                         {"[\"run\",\"aa00000000000000\"]\n", []string{"row 1", `"run"`, `["rows",1]`}},
		"a row of no known name":          {begin + "[\"colour\"]\n", []string{"row 2", `"colour"`}},
		"a line that is none":             {begin + "[\"line\",\"aa\"]\n", []string{"row 2", `"aa"`, "16 hexadecimal"}},
		"a list that goes on":             {begin + "[\"whole\",1]\n", []string{"row 2", "more items"}},
		"a list that ends too early":      {begin + "[\"cursor\"]\n", []string{"row 2", "ends before the cursor"}},
		"something behind a list":         {begin + "[\"whole\"] 7\n", []string{"row 2", `"7"`}},
		"an edit of no line":              {begin + "[1,0,1]\n", []string{"row 2", "line"}},
		"a line that nobody defined":      {begin + "[\"in\",0,1,0,0,0]\n", []string{"row 2", "line", "none is defined"}},
		"a line that begins in the midst": {placed + `["line","bb00000000000000"]` + "\n[\"in\",1,4]\n", []string{"row 8", "line 1", "device"}},
		"a field that nobody defined":     {defined + "[1,1,\"50 mm\",0,9]\n", []string{"row 8", "field", `"1,`, "from 0 to 0"}},
		"a value that is none":            {defined + "[1,0,01,0,9]\n", []string{"row 8", "01"}},
		"a dot too few":                   {defined + "[1,0,1]\n", []string{"row 8", "ends before a dot"}},
		"a dot with n 0":                  {defined + "[1,0,1,0,0]\n", []string{"row 8", `n is "0]"`, "from 1"}},
		"no record":                       {placed + "[\"field\",\"card\",0]\n[1,1,1]\n", []string{"row 8", "record"}},
		"no check":                        {defined + "[1,0,1,0,9]\n[\"end\",1]\n", []string{"row 9", "check"}},
		"another check":                   {defined + "[1,0,1,0,9]\n[\"check\",\"AAAAAAAAAAA\"]\n[\"end\",1]\n", []string{"row 9", "changed on their way"}},
		"a check that is none":            {defined + "[1,0,1,0,9]\n[\"check\",\"AA\"]\n", []string{"row 9", `"AA"`, "8 bytes"}},
		"a count of other edits":          {begin + "[\"end\",3]\n", []string{"row 2", "3 edits", "0 stand above"}},
		"something behind the end":        {begin + "[\"end\",0]\n[\"end\",0]\n", []string{"row 2", "end", "behind it"}},
		"a field twice":                   {defined + "[1,0,1,0,9,0,1,0,9]\n[\"check\",\"AAAAAAAAAAA\"]\n[\"end\",1]\n", []string{"row 8", `"lens"`, "twice"}},
		"a span that does not rise":       {begin + `["have","aa00000000000000",5,6,6,7]` + "\n", []string{"row 2", `"6,7]"`, "from 7"}},
		"a limit of nothing":              {begin + "[\"limit\",0]\n", []string{"row 2", `"0]"`, "from 1"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := exchange.ReadRequestRows([]byte(c.text), logtest.Production, nil)
			if !errors.Is(err, exchange.ErrRows) && !errors.Is(err, logbook.ErrForm) {
				t.Fatalf("got %v, want that the rows cannot be read", err)
			}
			for _, part := range c.says {
				if !strings.Contains(err.Error(), part) {
					t.Errorf("the error does not say %s: %v", part, err)
				}
			}
		})
	}
	t.Run("too many edits", func(t *testing.T) {
		text := defined + "[1,0,1,0,9]\n" + strings.Repeat("[1,0,1,0,1]\n", exchange.MaxPush)
		_, err := exchange.ReadRequestRows([]byte(text), logtest.Production, nil)
		if err == nil || !strings.Contains(err.Error(), "at most 500") {
			t.Errorf("got %v, want that at most 500 are allowed", err)
		}
	})
	t.Run("edits that unfold beyond bounds", func(t *testing.T) {
		text := placed + `["field","` + strings.Repeat("n", 200) + "\",1]\n" + `["of","018f6d2a-0000-7000-8000-000000000002","clip"]` + "\n" +
			`[1,1,"` + strings.Repeat("x", 20000) + "\",0,9]\n" + strings.Repeat(`[1,1,"`+strings.Repeat("x", 20000)+"\",0,1]\n", 120) +
			"[\"check\",\"AAAAAAAAAAA\"]\n[\"end\",121]\n"
		_, err := exchange.ReadRequestRows([]byte(text), logtest.Production, nil)
		if !errors.Is(err, exchange.ErrRows) || !strings.Contains(err.Error(), "more than 2097152 bytes") {
			t.Errorf("got %v, want that they have too many bytes", err)
		}
	})
}

func TestRowsOfAnswers(t *testing.T) {
	a := exchange.Answer{
		Run: logtest.Line(1), Identity: logtest.Line(2), Now: 1234, Cursor: "the end",
		More: true, List: logbook.Ranges{logtest.Line(3): {{From: 1, To: 9}}}, ListBehind: logtest.Dot(2, 7), ListTo: logtest.Dot(3, 9),
		Answers: []logbook.Answer{
			{Dot: logtest.Dot(4, 1), Outcome: logbook.AnswerTaken}, {Dot: logtest.Dot(4, 2), Outcome: logbook.AnswerTaken},
			{Dot: logtest.Dot(4, 3), Outcome: logbook.AnswerRefused, Reason: "kelvin is -3"},
			{Dot: logtest.Dot(4, 5), Outcome: logbook.AnswerRepeat}, {Dot: logtest.Dot(5, 6), Outcome: logbook.AnswerRepeat},
		},
	}
	edits := corrections()
	var hashes []logbook.Hash
	for _, b := range bytesOfAll(t, edits) {
		hashes = append(hashes, logbook.HashOf(b))
	}
	text := append(exchange.RowsBehind(a.RowsBefore(), edits, hashes), a.RowsAfter(len(edits))...)
	read, err := exchange.ReadAnswerRows(text, logtest.Production, nil)
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	if !sameBytes(bytesOfAll(t, read.Edits), bytesOfAll(t, edits)) {
		t.Errorf("other edits came out of\n%s", text)
	}
	read.Edits = nil
	if got, want := fmt.Sprintf("%+v", read), fmt.Sprintf("%+v", a); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	for cut := range text {
		if a, err := exchange.ReadAnswerRows(text[:cut], logtest.Production, nil); !errors.Is(err, exchange.ErrRows) {
			t.Fatalf("cut at %d of %d: got %+v and %v, want that the rows cannot be read", cut, len(text), a, err)
		}
	}
	t.Run("an empty list is written", func(t *testing.T) {
		a := exchange.Answer{Run: logtest.Line(1), Identity: logtest.Line(2), List: logbook.Ranges{}}
		read, err := exchange.ReadAnswerRows(append(a.RowsBefore(), a.RowsAfter(0)...), logtest.Production, nil)
		if err != nil || read.List == nil {
			t.Errorf("got %+v and %v", read, err)
		}
	})
	t.Run("an answer of no log is none", func(t *testing.T) {
		const nothing = "[\"rows\",1]\n[\"end\",0,\"\",false]\n"
		if _, err := exchange.ReadAnswerRows([]byte(nothing), logtest.Production, nil); !errors.Is(err, exchange.ErrRows) {
			t.Errorf("got %v", err)
		}
	})
}

func FuzzRequestRows(f *testing.F) {
	q := exchange.Request{
		Run: logtest.Line(1), Cursor: "x", Limit: 9, Have: logbook.Ranges{logtest.Line(2): {{From: 1, To: 2}}}, Edits: corrections(),
	}
	nothing, _ := heldOf(nil)
	for _, known := range []func(logbook.Dot) (logbook.RecordRef, bool){nil, nothing} {
		text, err := q.Rows(known)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	_, held := heldOf(corrections())
	f.Fuzz(func(t *testing.T, text []byte) {
		edits, err := exchange.ReadUnchecked(string(text), logtest.Production, held)
		if err != nil {
			return
		}
		var good []*logbook.Edit
		for _, e := range edits {
			if _, err := logbook.EncodeEdit(e); err == nil {
				good = append(good, e)
			}
		}
		q := exchange.Request{Edits: good}
		again, err := q.Rows(nil)
		if err != nil {
			t.Fatal(err)
		}
		read, err := exchange.ReadRequestRows(again, logtest.Production, nil)
		if err != nil || !sameBytes(bytesOfAll(t, read.Edits), bytesOfAll(t, good)) {
			t.Fatalf("%s reads as another request (%v)", again, err)
		}
	})
}

func FuzzAnswerRows(f *testing.F) {
	a := exchange.Answer{
		Run: logtest.Line(1), Identity: logtest.Line(2), List: logbook.Ranges{logtest.Line(3): {{From: 1, To: 2}}},
		Answers: []logbook.Answer{{Dot: logtest.Dot(3, 3), Outcome: logbook.AnswerRefused, Reason: "why"}},
	}
	f.Add(append(a.RowsBefore(), a.RowsAfter(0)...))
	f.Fuzz(func(t *testing.T, text []byte) {
		a, err := exchange.ReadAnswerRows(text, logtest.Production, nil)
		if err != nil {
			return
		}
		edits := a.Edits
		a.Edits = nil
		read, err := exchange.ReadAnswerRows(append(a.RowsBefore(), a.RowsAfter(0)...), logtest.Production, nil)
		if got, want := fmt.Sprintf("%+v", read), fmt.Sprintf("%+v", a); err != nil || got != want {
			t.Fatalf("got %s and %v, want %s", got, err, want)
		}
		bytesOfAll(t, edits)
	})
}

// inRows is Peer.Exchange with request and answer sent in rows, as a device does it:
// where a record is missing on either side, wanted is called and every record is
// written.
func inRows(
	l *exchange.Peer, r *exchange.Replica, met logbook.Line, wanted func(),
) func(exchange.Request, logbook.ID, logbook.Millis) (exchange.Answer, error) {
	return func(q exchange.Request, via logbook.ID, now logbook.Millis) (exchange.Answer, error) {
		for known := r.Shared(met); ; known = nil {
			text, err := q.Rows(known)
			if err != nil {
				return exchange.Answer{}, err
			}
			read, err := exchange.ReadRequestRows(text, l.Production(), l.Records)
			if errors.Is(err, exchange.ErrRecords) && known != nil {
				wanted()
				continue
			}
			if err != nil {
				return exchange.Answer{}, err
			}
			a, passages, err := l.ExchangeRows(read, via, now)
			if err != nil {
				return exchange.Answer{}, err
			}
			a, err = exchange.ReadAnswerRows(joined(a, passages), l.Production(), r.Records)
			if !errors.Is(err, exchange.ErrRecords) || q.Whole {
				return a, err
			}
			wanted()
			q.Whole = true
		}
	}
}

func joined(a exchange.Answer, passages []*exchange.Passage) []byte {
	text, edits := a.RowsBefore(), 0
	for _, p := range passages {
		text, edits = append(text, p.Rows...), edits+p.Edits
	}
	return append(text, a.RowsAfter(edits)...)
}
