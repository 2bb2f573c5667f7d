package api

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"runtime"
	"runtime/pprof"
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
)

// A stream is an open answer of server-sent events, read as it comes: the witness
// would wait for its end.
type stream struct {
	*client
	response *http.Response
	lines    *bufio.Reader
	hang     context.CancelFunc
}

// listen opens a stream; after is its Last-Event-ID, "" for none.
func (c *client) listen(path, after string) *stream {
	c.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	c.Cleanup(cancel)
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, c.url+path, nil)
	if err != nil {
		c.Fatal(err)
	}
	c.show(request)
	if after != "" {
		request.Header.Set("Last-Event-ID", after)
	}
	response, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(request)
	if err != nil {
		c.Fatal(err)
	}
	return &stream{c, response, bufio.NewReader(response.Body), cancel}
}

// hangUp leaves the stream; what is returned has a body only where it is a problem.
func (s *stream) hangUp() *reply {
	s.Helper()
	r := &reply{T: s.T, status: s.response.StatusCode, header: s.response.Header}
	if s.response.StatusCode != http.StatusOK {
		r.body, _ = io.ReadAll(s.response.Body)
	}
	s.hang()
	_ = s.response.Body.Close()
	return r
}

// block reads up to the next empty line.
func (s *stream) block() string {
	s.Helper()
	var block strings.Builder
	for {
		line, err := s.lines.ReadString('\n')
		if err != nil {
			s.Fatalf("the stream ended: %v", err)
		}
		if line == "\n" {
			return block.String()
		}
		block.WriteString(line)
	}
}

// event reads an event and returns its id.
func (s *stream) event() string {
	s.Helper()
	id, rest, _ := strings.Cut(s.block(), "\n")
	if !strings.HasPrefix(id, "id: ") || rest != "data: new\n" {
		s.Fatalf("got %q and %q, want an id and that there is something new", id, rest)
	}
	return strings.TrimPrefix(id, "id: ")
}

func (g *stage) writeNote() {
	g.Helper()
	g.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"a bird"}`)).want(201)
}

func TestEventsWakeADevice(t *testing.T) {
	g := setStage(t)
	s := g.listen(g.base+"/events", "")
	if got := s.response.Header.Get("Content-Type"); s.response.StatusCode != 200 || got != "text/event-stream" {
		t.Fatalf("got %s %s", s.response.Status, got)
	}
	first := s.event()
	g.writeNote()
	second := s.event()
	if second == first {
		t.Error("two events have the same id although the log went on")
	}
	t.Run("the id is the cursor of an exchange that has everything", func(t *testing.T) {
		r := g.ask("POST", g.base+"/exchange", `{"cursor":"`+second+`"}`).want(200)
		if cursor, _ := r.at("cursor").Text(); r.count("edits") != 0 || cursor != second {
			t.Errorf("got %s", r.body)
		}
	})
	t.Run("who comes back is woken at once for what it missed, and for nothing else", func(t *testing.T) {
		if id := g.listen(g.base+"/events", first).event(); id != second {
			t.Errorf("got the id %s, want %s", id, second)
		}
		uptodate := g.listen(g.base+"/events", second)
		g.writeNote()
		if id := uptodate.event(); id == second {
			t.Error("got an event although nothing was new")
		}
		if id := g.listen(g.base+"/events", "of another server").event(); id == "" {
			t.Error("got no id")
		}
	})
	t.Run("many edits at once are one event", func(t *testing.T) {
		s := g.listen(g.base+"/events", "")
		before := s.event()
		edits := g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":4300}`) + "," + g.edit(lineOfOne, 2, "clip", "$clip", `{"tint":1}`)
		end, _ := g.ask("POST", g.base+"/exchange", `{"edits":[`+edits+`]}`).want(200).at("cursor").Text()
		if id := s.event(); id == before || id != end {
			t.Errorf("got the id %s, want the end of the log", id)
		}
	})
}

func TestAnEventStreamEndsWhenTheDeviceMayNoLongerListen(t *testing.T) {
	g := setStage(t)
	phone, other := g.admit(pairing.Reader, "a lost phone", g.production), g.admit(pairing.Reader, "another", g.production)
	lost, stays := phone.listen(g.base+"/events", ""), other.listen(g.base+"/events", "")
	lost.event()
	stays.event()
	g.ask("DELETE", "/v1/devices/"+phone.device.String(), "").want(204)
	if rest, err := io.ReadAll(lost.lines); err != nil || len(rest) != 0 {
		t.Errorf("got %q (%v), want the end of the stream", rest, err)
	}
	if r := phone.listen(g.base+"/events", "").hangUp(); r.status != 401 {
		t.Errorf("a second try: got %d, want 401", r.status)
	}
	g.writeNote()
	stays.event()

	t.Run("and when its token has run out", func(t *testing.T) {
		g.clock.move(13 * time.Hour)
		g.client = g.admit(pairing.Owner, "desk again", g.production)
		g.writeNote()
		if rest, err := io.ReadAll(stays.lines); err != nil || len(rest) != 0 {
			t.Errorf("got %q (%v), want the end of the stream", rest, err)
		}
	})
}

func TestAnEventStreamShowsThatItStands(t *testing.T) {
	g := setStage(t)
	server := httptest.NewUnstartedServer(nil)
	g.url = "http://" + server.Listener.Addr().String()
	handler, err := New(Config{Names: calledSo, Site: Site{Origin: g.url}, Store: g.store, Auth: g.auth, Now: g.clock.now, Log: g.logger,
		Heartbeat: time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	server.Config.Handler = handler
	server.Start()
	s := g.listen(g.base+"/events", "")
	s.event()
	for range 3 {
		if got := s.block(); got != ": here\n" {
			t.Errorf("got %q, want a comment", got)
		}
	}
	s.hangUp()
	server.Close()
}

// waiting counts the event streams that the process serves.
func waiting(t *testing.T) int {
	t.Helper()
	var b bytes.Buffer
	if err := pprof.Lookup("goroutine").WriteTo(&b, 2); err != nil {
		t.Fatal(err)
	}
	return strings.Count(b.String(), "api.(*service).wake(")
}

func TestAnEventStreamThatEndsLeavesNothingBehind(t *testing.T) {
	g := setStage(t)
	const streams = 5 * streamsPerDevice
	var all []*stream
	for i := range streams / streamsPerDevice {
		phone := g.admit(pairing.Reader, fmt.Sprint("phone ", i), g.production)
		for range streamsPerDevice {
			s := phone.listen(g.base+"/events", "")
			s.event()
			all = append(all, s)
		}
	}
	if n := waiting(t); n != streams {
		t.Fatalf("%d streams wait, want %d", n, streams)
	}
	g.writeNote() // nobody who waits holds anything that a change needs
	for _, s := range all {
		s.hangUp()
	}
	for waiting(t) > 0 { // else the test runs into its time-out, which shows who waits
		runtime.Gosched()
	}
}
