package api

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// readableForm is the form for people and small clients.
type readableForm struct{}

func (readableForm) header() []string {
	return []string{"Content-Type", "application/json", "Accept-Encoding", "identity"}
}

func (readableForm) request(t *testing.T, r *exchange.Replica, log logbook.Line, more []*logbook.Edit) []byte {
	q := r.Request(log)
	said := map[string]any{"cursor": q.Cursor, "edits": append(append([]*logbook.Edit{}, q.Edits...), more...)}
	if q.Run != (logbook.Line{}) {
		said["run"] = q.Run.String()
	}
	if said["parts"] = q.Parts; !q.ListBehind.IsZero() {
		said["listBehind"] = q.ListBehind.String()
	}
	if q.Want != nil {
		said["want"] = spansOf(q.Want)
	}
	b, err := json.Marshal(said)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (readableForm) answer(_ *exchange.Replica, _ logbook.ID, body []byte) (a exchange.Answer, err error) {
	var said exchangeAnswer
	if err := json.Unmarshal(body, &said); err != nil {
		return a, err
	}
	a = exchange.Answer{Reset: said.Reset, Edits: said.Edits, More: said.More, Cursor: said.Cursor}
	if a.Run, err = logbook.ParseLine(said.Run); err != nil {
		return a, err
	}
	if a.Identity, err = logbook.ParseLine(said.Log); err != nil {
		return a, err
	}
	for text, to := range map[string]*logbook.Dot{said.Behind: &a.ListBehind, said.To: &a.ListTo} {
		if text == "" {
			continue
		}
		if *to, err = logbook.ParseDot(text); err != nil {
			return a, err
		}
	}
	if said.List != nil {
		if a.List, err = said.List.ranges("list"); err != nil {
			return a, err
		}
	}
	for _, one := range said.Answers {
		dot, err := logbook.ParseDot(one.Dot)
		if err != nil {
			return a, err
		}
		a.Answers = append(a.Answers, logbook.Answer{Dot: dot, Outcome: one.Outcome, Reason: one.Reason})
	}
	return a, nil
}

// cutPhone is a phone behind a line that breaks.
type cutPhone struct {
	*client
	stage *stage
	form  wireForm
	r     *exchange.Replica
	log   logbook.Line
	came  map[logbook.Dot]int
}

// say sends what the phone has to say, and returns the answer unread.
func (p *cutPhone) say() []byte {
	p.Helper()
	return p.ask("POST", p.stage.base+"/exchange", string(p.form.request(p.T, p.r, p.log, nil)), p.form.header()...).want(200).body
}

func (p *cutPhone) take(body []byte) (more bool, err error) {
	a, err := p.form.answer(p.r, p.stage.production, body)
	if err != nil {
		return false, err
	}
	for _, e := range a.Edits {
		p.came[e.Dot]++
	}
	p.log, more = p.r.Take(a)
	return more, nil
}

// write makes an edit of a record that came from the service.
func (p *cutPhone) write(n int) {
	p.Helper()
	id, err := logbook.ParseID(p.stage.ids["clip"])
	if err != nil {
		p.Fatal(err)
	}
	v, ok := p.r.Book().RecordOf(kinds.Clip, id)
	if !ok {
		p.Fatal("the clip did not come")
	}
	change := logbook.Replace(v, "card", logbook.TextValue(fmt.Sprintf("A%03d", n)))
	d := logbook.Draft{Kind: kinds.Clip, Record: id, Set: []logbook.Change{change}}
	if _, err := p.r.Write(d, "2nd AC", 1930372200000+logbook.Millis(n), 0); err != nil {
		p.Fatal(err)
	}
}

func TestAnExchangeMayBeCutAtAnyByte(t *testing.T) {
	for name, form := range map[string]wireForm{"readable": readableForm{}, "rows": &rowsForm{}, "packed rows": &rowsForm{packed: true}} {
		t.Run(name, func(t *testing.T) {
			seed := rand.Uint64() >> 1
			t.Logf("seed %d", seed)
			chance := rand.New(rand.NewPCG(seed, 1))
			g := setStage(t)
			phone := &cutPhone{g.admit(pairing.Editor, "a phone", g.production), g, form, nil, logbook.Line{}, map[logbook.Dot]int{}}
			phone.r = exchange.NewReplica(g.production, phone.device, kinds.Rules, drawLine)

			body := phone.say()
			for _, cut := range cuts(len(body), 2000) {
				if more, err := phone.take(body[:cut]); err == nil {
					t.Fatalf("an answer that was cut at %d of %d was taken (more: %v)", cut, len(body), more)
				}
			}
			if _, err := phone.take(body); err != nil {
				t.Fatal(err)
			}
			phone.pushCut()
			for n := range 12 { // the answer is lost, and sent again
				phone.write(100 + n)
				g.writeNote()
				body := phone.say()
				if _, err := phone.take(body[:chance.IntN(len(body))]); err == nil {
					t.Fatal("an answer that was cut was taken")
				}
				if _, err := phone.take(phone.say()); err != nil {
					t.Fatal(err)
				}
			}
			phone.compare()
		})
	}
}

// cuts are all places where so many bytes can be cut, or about most of them, the
// first and the last among them.
func cuts(size, most int) (places []int) {
	for at := 0; at < size-1; at += 1 + size/most {
		places = append(places, at)
	}
	return append(places, size-1)
}

// pushCut sends a push cut at each byte, or at hundreds of places where it is long,
// as if it were whole and with the line broken; then it sends it whole.
func (p *cutPhone) pushCut() {
	p.Helper()
	for n := range 4 {
		p.write(n)
	}
	body, before := p.form.request(p.T, p.r, p.log, nil), p.stage.head()
	for n, cut := range cuts(len(body), 400) {
		if r := p.ask("POST", p.stage.base+"/exchange", string(body[:cut]), p.form.header()...); r.status != 400 {
			p.Fatalf("a push that was cut at %d of %d: got %d, want 400: %s", cut, len(body), r.status, r.body)
		}
		if n%40 == 0 {
			p.hangUpAfter(body, cut)
		}
	}
	if p.stage.head() != before {
		p.Error("something was stored of a push that was cut")
	}
	if _, err := p.take(p.say()); err != nil {
		p.Fatal(err)
	}
	if now := p.stage.head(); now.Seq != before.Seq+4 {
		p.Errorf("the log went from %d to %d, want 4 edits more", before.Seq, now.Seq)
	}
}

// hangUpAfter sends so much of a body and no more.
func (p *cutPhone) hangUpAfter(body []byte, cut int) {
	p.Helper()
	conn, err := net.Dial("tcp", p.url[len("http://"):])
	if err != nil {
		p.Fatal(err)
	}
	defer func() { _ = conn.Close() }()
	head := fmt.Sprintf("POST %s/exchange HTTP/1.1\r\nHost: 127.0.0.1\r\n%sContent-Length: %d\r\n",
		p.stage.base, p.lines("POST", p.stage.base+"/exchange"), len(body))
	for i, h := 0, p.form.header(); i < len(h); i += 2 {
		head += h[i] + ": " + h[i+1] + "\r\n"
	}
	if _, err := conn.Write(append([]byte(head+"\r\n"), body[:cut]...)); err != nil {
		p.Fatal(err)
	}
	if err := conn.(*net.TCPConn).CloseWrite(); err != nil {
		p.Fatal(err)
	}
	response, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		return // the service hung up as well
	}
	if _, err := io.Copy(io.Discard, response.Body); err != nil || response.StatusCode != 400 {
		p.Errorf("a line that broke after %d of %d: got %d (%v), want 400", cut, len(body), response.StatusCode, err)
	}
}

// compare demands that phone and service hold the same edits, and that none came
// twice.
func (p *cutPhone) compare() {
	p.Helper()
	stored, err := p.stage.store.Read(p.stage.production, 0, 1<<30)
	if err != nil {
		p.Fatal(err)
	}
	for _, s := range stored {
		held, err := p.r.Records([]logbook.Dot{s.Dot})
		e, bad := logbook.DecodeEdit(s.Bytes)
		if err != nil || bad != nil || len(held) != 1 {
			p.Errorf("the phone lacks %s (%v, %v)", s.Dot, err, bad)
		} else if want := 1; e.Device == p.device {
			if p.came[s.Dot] > 1 {
				p.Errorf("the phone's own %s came %d times", s.Dot, p.came[s.Dot])
			}
		} else if p.came[s.Dot] != want {
			p.Errorf("%s came %d times, want once", s.Dot, p.came[s.Dot])
		}
	}
	if q := p.r.Request(p.log); len(q.Edits) != 0 {
		p.Errorf("the phone has %d edits to bring, want none", len(q.Edits))
	}
}
