package api

import (
	"bufio"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// slowly begins a request whose body never comes to its end, and returns when the server
// reads it.
func (c *client) slowly(path, media string) {
	c.Helper()
	conn, err := net.Dial("tcp", strings.TrimPrefix(c.url, "http://"))
	if err != nil {
		c.Fatal(err)
	}
	c.Cleanup(func() { _ = conn.Close() })
	_, err = fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: 127.0.0.1\r\n%sContent-Type: %s\r\n"+
		"Content-Length: 1000\r\nExpect: 100-continue\r\n\r\n", path, c.lines("POST", path), media)
	if err != nil {
		c.Fatal(err)
	}
	line, err := bufio.NewReader(conn).ReadString('\n')
	if err != nil || !strings.Contains(line, " 100 ") {
		c.Fatalf("a slow request is answered %q (%v), want 100", line, err)
	}
	if _, err := conn.Write([]byte("{")); err != nil {
		c.Fatal(err)
	}
}

// wantBusy demands the answer to who asks too much at once.
func (r *reply) wantBusy() {
	r.Helper()
	if p := r.want(503).problem(); p.Type != problemPrefix+"busy" || r.header.Get("Retry-After") != "2" {
		r.Errorf("got %+v, Retry-After %q", p, r.header.Get("Retry-After"))
	}
}

func TestStillsThatComeSlowlyHoldUpNobodyElse(t *testing.T) {
	g := setStage(t)
	file := greyPNG(t).String()
	query := "?x=0&y=0&width=32&height=32&encoding=bt1886&primaries=bt709"
	for i := range 3 {
		slow := g.admit(pairing.Editor, fmt.Sprint("slow ", i), g.production)
		for range stillsEach {
			slow.slowly(g.base+"/stills"+query, "image/png")
		}
		slow.ask("POST", g.base+"/stills"+query, file, "Content-Type", "image/png").wantBusy()
	}
	g.ask("POST", g.base+"/stills"+query, file, "Content-Type", "image/png").want(200)

	large := g.admit(pairing.Editor, "large", g.production)
	for range stillsEach {
		large.slowly(g.base+"/stills"+query, "image/png")
	}
	for range 5 { // the answer arrives, also where its sender sends all before it listens
		large.ask("POST", g.base+"/stills"+query, strings.Repeat("white", 2<<20), "Content-Type", "image/png").wantBusy()
	}
}

func TestOneDeviceCannotTakeEveryPlace(t *testing.T) {
	g := setStage(t)
	slow := g.admit(pairing.Editor, "slow", g.production)
	for range requestsEach {
		slow.slowly(g.base+"/exchange", "application/json")
	}
	slow.ask("POST", g.base+"/exchange", `{}`).wantBusy()
	slow.ask("GET", g.base, "").wantBusy()
	g.ask("POST", g.base+"/exchange", `{}`).want(200)
	(&client{site: g.site}).ask("GET", "/healthz", "").want(200)
	if strings.Contains(g.log.String(), "the operation failed") {
		t.Error("whoever asks too much fills the log with faults of the server")
	}
}

func TestTheOldestOfTooManyStreamsOfADeviceEnds(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone", g.production)
	var open []*stream
	for range streamsPerDevice {
		s := phone.listen(g.base+"/events", "")
		s.event()
		open = append(open, s)
	}
	other := g.listen(g.base+"/events", "")
	place := other.event()
	for range 3 {
		s := phone.listen(g.base+"/events", "")
		s.event()
		oldest := open[0]
		open = append(open[1:], s)
		if line, err := oldest.lines.ReadString('\n'); err == nil {
			t.Fatalf("the oldest stream goes on: %q", line)
		}
		if !oldest.response.Close {
			t.Error("its connection is kept")
		}
	}
	g.writeNote()
	for _, s := range append(open, other) {
		if s.event() == place {
			t.Error("a stream that is open is not woken")
		}
	}
}

func TestAnAddressCannotOpenStreamsWithoutEnd(t *testing.T) {
	var s openStreams
	var first *listening
	for i := range streamsPerAddress {
		l, err := s.enter(logbook.ID{byte(i / streamsPerDevice), 1}, "192.0.2.1")
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = l
		}
	}
	if _, err := s.enter(logbook.ID{0xff}, "192.0.2.1"); err == nil {
		t.Error("one more is let in")
	}
	if _, err := s.enter(logbook.ID{0xff}, "192.0.2.2"); err != nil {
		t.Errorf("another address: %v", err)
	}
	s.leave(first)
	if _, err := s.enter(logbook.ID{0xff}, "192.0.2.1"); err != nil {
		t.Errorf("after one left: %v", err)
	}
}

// deadlines notes what a connection is asked for, in order.
type deadlines struct {
	*httptest.ResponseRecorder
	did []string
}

func (d *deadlines) SetWriteDeadline(at time.Time) error {
	d.did = append(d.did, map[bool]string{true: "none", false: "until"}[at.IsZero()])
	return nil
}

func (d *deadlines) Write(b []byte) (int, error) {
	d.did = append(d.did, fmt.Sprint(len(b)))
	return d.ResponseRecorder.Write(b)
}

func TestEveryPieceOfAnAnswerHasItsTime(t *testing.T) {
	d := &deadlines{ResponseRecorder: httptest.NewRecorder()}
	w := &timedWriter{d, http.NewResponseController(d)}
	if n, err := w.Write(make([]byte, writePiece+5)); n != writePiece+5 || err != nil {
		t.Errorf("wrote %d (%v)", n, err)
	}
	if got, want := strings.Join(d.did, " "), fmt.Sprint("until ", writePiece, " until 5 none"); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// TestEventsComeOverHTTP2 has an answer without end on a stream of a connection that
// others share, where time limits are those of the stream.
func TestEventsComeOverHTTP2(t *testing.T) {
	g := setStage(t)
	handler, err := New(Config{Names: calledSo, Site: Site{Origin: g.url}, Store: g.store, Auth: g.auth, Now: g.clock.now, Log: g.logger,
		Program: "evenwhite test", Heartbeat: time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewUnstartedServer(handler)
	server.EnableHTTP2 = true
	server.StartTLS()
	t.Cleanup(server.Close)
	request, err := http.NewRequest(http.MethodGet, server.URL+g.base+"/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	g.show(request)
	answer, err := server.Client().Do(request)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = answer.Body.Close() })
	if answer.Proto != "HTTP/2.0" || answer.StatusCode != http.StatusOK {
		t.Fatalf("got %s %s", answer.Proto, answer.Status)
	}
	lines := bufio.NewReader(answer.Body)
	if line, err := lines.ReadString('\n'); err != nil || !strings.HasPrefix(line, "id: ") {
		t.Errorf("got %q (%v), want an event", line, err)
	}
}
