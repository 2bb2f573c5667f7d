package api

import (
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// startAnew is the service of the next start, on what the store holds: all that it had
// in memory is gone.
func (s *site) startAnew() {
	s.Helper()
	server := httptest.NewUnstartedServer(nil)
	s.url = "http://" + server.Listener.Addr().String()
	handler, err := New(Config{Names: calledSo, Site: Site{Origin: s.url}, Store: s.store, Auth: s.auth, Now: s.clock.now, Log: s.logger,
		Program: "evenwhite test", Heartbeat: time.Hour})
	if err != nil {
		s.Fatal(err)
	}
	server.Config.Handler = handler
	server.Start()
	s.http = server.Client()
	s.http.Transport = newWitness(s.T, s.http.Transport)
	s.Cleanup(server.Close)
}

// keyed are the operations that take an Idempotency-Key, each with a request that makes
// something.
func keyed(g *stage) map[string]func(key string) *reply {
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	g.push(phone, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3}`), g.edit(lineOfOne, 2, "clip", "$clip", `{"kelvin":-4}`))
	gel := g.ask("POST", g.base+"/records/gel", `{"name":"plus green","gelKind":"green"}`).want(201)
	struck := g.ask("DELETE", g.base+"/records/gel/"+gel.id(), "", "If-Match", gel.tag()).want(200)
	lamp := g.ask("GET", g.record("lamp", "lamp"), "").want(200)
	patched := g.ask("PATCH", g.record("lamp", "lamp"), `{"count":7}`, "If-Match", lamp.tag()).want(200)
	undo := g.record("lamp", "lamp") + "/undo/" + g.dotOf("lamp", "lamp")
	g.push(phone, g.edit(lineOfOne, 3, "day", "$day", `{"weather":"rain"}`))
	post := func(path, body string, header ...string) func(string) *reply {
		return func(key string) *reply { return g.ask("POST", path, body, append(header, "Idempotency-Key", key)...) }
	}
	const listing = "70000000 1930368300.0 /offload/001/A001001_XY.mov\n" // 07:25 in the zone of the set
	seen := ""                                                            // once what the others here make is made
	adopt := func(key string) *reply {
		if seen == "" {
			seen = g.list(g.base+"/footage", "text/plain", listing).want(200).text("seen")
		}
		return post(g.base+"/footage/adopted?what=clip:"+g.ids["clip"]+"&seen="+seen, listing, "Content-Type", "text/plain")(key)
	}
	return map[string]func(string) *reply{
		"createProduction": post("/v1/productions", newProduction),
		"createRecord":     post(g.base+"/records/lamp", `{"name":"spot","family":"incandescent"}`),
		"logEvent":         post(g.base+"/set-ups/"+g.ids["setUp"]+"/events", `{"event":"nextTake"}`),
		"restoreRecord":    post(g.base+"/records/gel/"+gel.id()+"/restore", "", "If-Match", struck.tag()),
		"undoEdit":         post(undo, "", "If-Match", patched.tag()),
		"adoptFootage":     adopt,
		"undoAct":          post(g.base+"/acts/"+lineOfOne+".3/undo", ""),
		"correctEdit":      post(g.base+"/quarantine/"+lineOfOne+".1/correct", `{"kelvin":4300}`, "Content-Type", mergePatch),
		"discardEdit":      post(g.base+"/quarantine/"+lineOfOne+".2/discard", ""),
		"invite":           post("/v1/invitations", `{"role":"editor","label":"2nd AC"}`),
	}
}

// made counts everything that requests can make.
func (g *stage) made() string {
	g.Helper()
	ids, err := g.store.Productions()
	if err != nil {
		g.Fatal(err)
	}
	return fmt.Sprint(len(ids), " productions, ", g.head().Seq, " edits, ", len(g.auth.Invitations()), " invitations")
}

func TestEveryPOSTThatMakesSomethingMakesItOnce(t *testing.T) {
	g := setStage(t)
	tries := keyed(g)
	for _, o := range operationsOf(t) {
		takes := false
		for _, p := range o.Parameters {
			takes = takes || p.Value.Name == "Idempotency-Key"
		}
		if _, ok := tries[o.id]; ok != takes {
			t.Errorf("%s takes a key by the contract: %v; by this table: %v", o.id, takes, ok)
		}
	}
	answers := map[string]*reply{}
	for _, id := range slices.Sorted(maps.Keys(tries)) { // what is corrected could not be adopted any more
		answers[id] = tries[id]("key of " + id)
		if r := answers[id]; r.status != 200 && r.status != 201 {
			t.Fatalf("%s: got %d %s", id, r.status, r.body)
		} else if (r.status == 201) != (r.header.Get("Location") != "") {
			t.Errorf("%s: answered %d with the Location %q", id, r.status, r.header.Get("Location"))
		}
	}
	before := g.made()
	same := func(when string) {
		t.Helper()
		for id, try := range tries {
			if strings.HasSuffix(when, "anew") && id == "invite" {
				continue
			}
			r, first := try("key of "+id), answers[id]
			if r.status != first.status || string(r.body) != string(first.body) || r.tag() != first.tag() ||
				r.header.Get("Location") != first.header.Get("Location") {
				t.Errorf("%s, %s: got %d %s, want %d %s", id, when, r.status, r.body, first.status, first.body)
			}
		}
		if got := g.made(); got != before {
			t.Errorf("%s there are %s, want %s", when, got, before)
		}
	}
	same("asked again")
	g.startAnew()
	same("asked again after the server was started anew")
	if p := tries["invite"]("key of invite").want(409).problem(); p.Type != problemPrefix+"key-spent" {
		t.Errorf("an invitation that ended with the server: got %+v", p)
	}
	g.ask("POST", g.base+"/records/lamp", `{"name":"flood","family":"incandescent"}`, "Idempotency-Key", "key of createRecord").want(422)
	invite := func() *reply {
		return g.ask("POST", "/v1/invitations", `{"role":"reader","label":"once"}`, "Idempotency-Key", "an invitation that is used")
	}
	code, _ := invite().want(201).at("code").Text()
	g.phone().redeem(code)
	if p := invite().want(409).problem(); p.Type != problemPrefix+"key-spent" {
		t.Errorf("an invitation that was used: got %+v", p)
	}
	phone := g.admit(pairing.Editor, "another phone", g.production)
	other := phone.ask("POST", g.base+"/records/lamp", `{"name":"spot","family":"incandescent"}`, "Idempotency-Key", "key of createRecord")
	if other.want(201).id() == answers["createRecord"].id() {
		t.Error("the key of another device was taken for the same")
	}
}

func TestAKeyIsHeldForADay(t *testing.T) {
	g := setStage(t)
	try := func(key string) string {
		admission, err := g.auth.Renew(g.device)
		if err != nil {
			t.Fatal(err)
		}
		g.token = admission.Token
		return g.ask("POST", g.base+"/records/lamp", `{"name":"spot","family":"incandescent"}`, "Idempotency-Key", key).want(201).id()
	}
	first := try("one")
	g.clock.move(repeatLife - time.Second)
	g.startAnew()
	if again := try("one"); again != first {
		t.Error("after a day less a second it was forgotten")
	}
	g.clock.move(time.Second)
	if again := try("one"); again == first {
		t.Error("after a day it was not")
	}
	g.clock.move(repeatLife)
	try("two")
	kept, err := g.store.KeptUnder(repeatPrefix)
	if err != nil || len(kept) != 1 {
		t.Errorf("%d notes are kept (%v), want that of the last key alone", len(kept), err)
	}
}

// lastWords commits, and the process ends before anybody hears of it.
type lastWords struct{ logbook.Store }

func (s lastWords) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	if _, err := s.Store.Append(production, entries); err != nil {
		return nil, err
	}
	panic("killed")
}

func TestAServerThatEndsBetweenCommitAndAnswerLogsOneTake(t *testing.T) {
	g := setStage(t)
	handler, _ := g.workshop(lastWords{g.store})
	path, body := g.base+"/set-ups/"+g.ids["setUp"]+"/events", `{"event":"nextTake"}`
	r := httptest.NewRequest("POST", path, strings.NewReader(body))
	g.show(r)
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Idempotency-Key", "take 2")
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	if w.Code != 500 {
		t.Fatalf("got %d %s", w.Code, w.Body)
	}
	g.startAnew()
	before := g.head()
	first := g.ask("POST", path, body, "Idempotency-Key", "take 2").want(201)
	again := g.ask("POST", path, body, "Idempotency-Key", "take 2").want(201)
	takes := g.ask("GET", g.base+"/records/take", "").want(200).count("records")
	if g.head() != before || takes != 2 || string(first.body) != string(again.body) || first.count("records") == 0 {
		t.Errorf("there are %d takes and %d edits more, want take 1 and take 2: %s", takes, g.head().Seq-before.Seq, first.body)
	}
}

// slow looks, whenever it is written to, whether others could go on.
type slow struct {
	*httptest.ResponseRecorder
	s    *service
	held bool
}

func (w *slow) Write(b []byte) (int, error) {
	w.s.repeats.mu.Lock()
	w.held = w.held || len(w.s.repeats.running) > 0
	w.s.repeats.mu.Unlock()
	return w.ResponseRecorder.Write(b)
}

func TestAClientThatReadsSlowlyHoldsNobodyUp(t *testing.T) {
	at := openSite(t)
	known, err := openRepeats(at.store)
	if err != nil {
		t.Fatal(err)
	}
	s := &service{Config: Config{Now: time.Now, Store: at.store, Auth: at.auth}, repeats: known}
	key, runs := "one", 0
	for _, turn := range []string{"the answer", "its repetition"} {
		w := &slow{ResponseRecorder: httptest.NewRecorder(), s: s}
		c := echo.New().NewContext(httptest.NewRequest("POST", "/", nil), w)
		err := s.once(c, &key, func(logbook.Writer) (deed, error) {
			runs++
			inv, err := at.auth.Invite("owner", pairing.Editor, "stored", logbook.ID{})
			return deed{invited: &inv}, err
		}, func(made deed) error { return answer(c, http.StatusCreated, made.invited.Label) })
		if err != nil || w.Code != 201 || w.Body.String() != `"stored"` || runs != 1 {
			t.Errorf("%s: got %d %s (%v), run %d times", turn, w.Code, w.Body, err, runs)
		}
		if w.held {
			t.Errorf("%s went out while other requests with the key waited", turn)
		}
	}
}

func TestTheKeysOfADeviceTakeBoundedRoom(t *testing.T) {
	store := logbook.NewMemory()
	r, err := openRepeats(store)
	if err != nil {
		t.Fatal(err)
	}
	one, other := drawID(), drawID()
	write := func(device logbook.ID, n int) {
		own := &repeat{name: repeatName(device, fmt.Sprint(n)), at: logbook.Millis(n)}
		notes := r.notes(own, own.at)
		for _, k := range notes {
			if err := store.Keep(k.Name, k.Value); err != nil {
				t.Fatal(err)
			}
		}
		r.keep(own, notes)
	}
	write(other, 0)
	for n := range mostRepeats + 50 {
		write(one, n)
	}
	check := func(r *repeats) {
		t.Helper()
		_, oldest := r.find(repeatName(one, "49"), 5000)
		_, held := r.find(repeatName(one, "50"), 5000)
		_, others := r.find(repeatName(other, "0"), 5000)
		if len(r.known) != mostRepeats+1 || len(r.order) != mostRepeats+1 || oldest || !held || !others {
			t.Errorf("%d keys are held, the 49th: %v, the 50th: %v, that of another device: %v", len(r.known), oldest, held, others)
		}
	}
	check(r)
	anew, err := openRepeats(store)
	if err != nil {
		t.Fatal(err)
	}
	check(anew)
}
