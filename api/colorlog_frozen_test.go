package api

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"runtime"
	"sync"
	"testing"

	"evenwhite/logbook"
)

// A slowTaker takes the pieces of an answer one by one, as it is told, or hangs up.
type slowTaker struct {
	*httptest.ResponseRecorder
	arrived chan struct{} // a piece has come
	take    chan error    // what becomes of it
}

func newSlowTaker() *slowTaker {
	return &slowTaker{httptest.NewRecorder(), make(chan struct{}), make(chan error)}
}

func (s *slowTaker) Write(piece []byte) (int, error) {
	s.arrived <- struct{}{}
	if err := <-s.take; err != nil {
		return 0, err
	}
	return s.ResponseRecorder.Write(piece)
}

// download asks for the colour log of the production; done is closed when the answer ended,
// with what it ended.
func (g *stage) download(to http.ResponseWriter, ctx context.Context) (done chan any) {
	done = make(chan any, 1)
	request := httptest.NewRequestWithContext(ctx, "GET", g.base+"/color-log.csv", nil)
	g.show(request)
	go func() {
		defer func() { done <- recover() }()
		g.serve.ServeHTTP(to, request)
	}()
	return done
}

func (g *stage) frozen() int {
	g.Helper()
	l, err := g.logs.Find(g.production)
	if err != nil {
		g.Fatal(err)
	}
	return l.Frozen()
}

func TestAColorLogIsOfOneHeadHoweverSlowlyItIsTaken(t *testing.T) {
	g := setStage(t)
	want := g.ask("GET", g.base+"/color-log.csv", "").want(200)
	to := newSlowTaker()
	done := g.download(to, t.Context())
	<-to.arrived
	g.ask("POST", g.base+"/set-ups/"+g.ids["setUp"]+"/events",
		g.fill(`{"event":"nextTake","cameras":{"$b":{"whiteMode":"kelvin","kelvin":4300}}}`)).want(201)
	if n := g.frozen(); n != 1 {
		t.Errorf("%d books are frozen for one reader", n)
	}
	to.take <- nil
	for ended := false; !ended; {
		select {
		case <-to.arrived:
			to.take <- nil
		case end := <-done:
			if ended = true; end != nil {
				t.Fatal(end)
			}
		}
	}
	if to.Body.String() != string(want.body) || to.Header().Get("ETag") != want.tag() {
		t.Errorf("got under %s\n%s\nwant that of before under %s\n%s", to.Header().Get("ETag"), to.Body, want.tag(), want.body)
	}
	next := g.ask("GET", g.base+"/color-log.csv", "", "If-None-Match", want.tag()).want(200)
	if next.tag() == want.tag() || len(next.body) <= len(want.body) {
		t.Errorf("the next is %d bytes under %s, and a take came after %d under %s", len(next.body), next.tag(), len(want.body), want.tag())
	}
	if n := g.frozen(); n != 0 {
		t.Errorf("%d books are frozen for nobody", n)
	}
}

func TestAColorLogThatIsKnownIsNotMadeAgain(t *testing.T) {
	g := setStage(t)
	tags := map[string]bool{}
	for _, path := range []string{"/color-log.csv", "/color-log.json", "/color-log.csv?day=" + g.ids["day"]} {
		r := g.ask("GET", g.base+path, "").want(200)
		tags[r.tag()] = true
		to := newSlowTaker() // which is served, and takes nothing
		done := g.download(to, t.Context())
		<-to.arrived
		if got := g.ask("GET", g.base+path, "", "If-None-Match", r.tag()).want(304); len(got.body) != 0 {
			t.Errorf("%s: got %s", path, got.body)
		}
		to.take <- errors.New("hung up")
		<-done
	}
	if len(tags) != 3 {
		t.Errorf("three forms and scopes have the tags %v", tags)
	}
}

func TestWhoHangsUpOrWaitsLeavesNothingBehind(t *testing.T) {
	g := setStage(t)
	for range 3 {
		to := newSlowTaker()
		done := g.download(to, t.Context())
		<-to.arrived
		to.take <- errors.New("hung up")
		if end := <-done; end != http.ErrAbortHandler {
			t.Errorf("an answer that was not taken to its end ended with %v, want it cut off", end)
		}
	}
	first := newSlowTaker()
	served := g.download(first, t.Context())
	<-first.arrived
	ctx, hangUp := context.WithCancel(t.Context())
	waits := g.download(httptest.NewRecorder(), ctx)
	hangUp()
	if end := <-waits; end != nil {
		t.Error(end)
	}
	first.take <- errors.New("hung up")
	<-served
	if n := g.frozen(); n != 0 {
		t.Errorf("%d books are frozen for nobody", n)
	}
	g.ask("GET", g.base+"/color-log.csv", "").want(200)
}

func TestOneIsServedAtATimeAndFewWait(t *testing.T) {
	var queue turns
	production := logbook.ID{1}
	leave, err := queue.enter(production, t.Context())
	if err != nil {
		t.Fatal(err)
	}
	ctx, giveUp := context.WithCancel(t.Context())
	var waiting sync.WaitGroup
	errs := make(chan error, mostHere)
	for range mostHere - 1 {
		waiting.Go(func() {
			_, err := queue.enter(production, ctx)
			errs <- err
		})
	}
	here := func() int {
		queue.mu.Lock()
		defer queue.mu.Unlock()
		return queue.open[production].here
	}
	for here() < mostHere {
		runtime.Gosched()
	}
	if _, err := queue.enter(production, t.Context()); !errors.Is(err, errOthersFirst) {
		t.Errorf("one more got %v, want %v", err, errOthersFirst)
	}
	other, err := queue.enter(logbook.ID{2}, t.Context())
	if err != nil {
		t.Errorf("of another production: %v", err)
	}
	other()
	giveUp()
	waiting.Wait()
	for range mostHere - 1 {
		if err := <-errs; !errors.Is(err, errOthersFirst) {
			t.Errorf("who gave up waiting got %v", err)
		}
	}
	leave()
	if len(queue.open) != 0 {
		t.Errorf("%d places are kept for nobody", len(queue.open))
	}
}
