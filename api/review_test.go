package api

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

func TestAnEmptyLogSaysThatItHoldsNothing(t *testing.T) {
	s := openSite(t)
	owner := s.admit(pairing.Owner, "desk", logbook.ID{})
	production := drawID()
	if err := s.store.Begin(production, drawLine()); err != nil {
		t.Fatal(err)
	}
	r := owner.ask("POST", "/v1/productions/"+production.String()+"/exchange", `{}`).want(200)
	if r.at("list") != "{}" {
		t.Errorf("got the list %q, want an empty one: without it no device offers what the log lost", r.at("list"))
	}
	run, _ := r.at("run").Text()
	if r = owner.ask("POST", "/v1/productions/"+production.String()+"/exchange", `{"run":"`+run+`"}`).want(200); r.at("list") != "" {
		t.Errorf("got the list %s though the run was known", r.at("list"))
	}
}

func TestOnlyAnOwnerChangesTheProductionUnderEitherAddress(t *testing.T) {
	g := setStage(t)
	editor := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	tag := g.ask("GET", g.base, "").want(200).tag()
	record := g.record("production", "production")
	before := g.head()
	editor.ask("PATCH", record, `{"title":"Another"}`, "If-Match", tag).want(403)
	editor.ask("DELETE", record, "", "If-Match", tag).want(403)
	editor.ask("POST", record+"/restore", "", "If-Match", tag).want(403)
	if g.head() != before {
		t.Error("the log changed")
	}
	g.ask("PATCH", record, `{"title":"Another"}`, "If-Match", tag).want(200)
}

// Whoever holds a request open must not bring edits with it after the device was
// revoked.
func TestADeviceThatIsRevokedWhileItSendsIsRefused(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	before := g.head()
	body := `{"edits":[` + g.edit(lineOfOne, 1, "clip", "$clip", `{"lens":"50"}`) + `]}`
	from, to := io.Pipe()
	request, err := http.NewRequest("POST", g.url+g.base+"/exchange", from)
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Authorization", "Bearer "+phone.token)
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Expect", "100-continue") // answered once the service reads the body: then the caller is known
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.ExpectContinueTimeout = time.Hour
	t.Cleanup(transport.CloseIdleConnections)
	sent := make(chan error, 1)
	go func() {
		_, err := io.WriteString(to, body[:10])
		if err == nil {
			err = g.auth.Revoke(phone.device)
		}
		if err == nil {
			_, err = io.WriteString(to, body[10:])
		}
		_ = to.CloseWithError(err)
		sent <- err
	}()
	response, err := transport.RoundTrip(request)
	if err != nil {
		t.Fatal(err)
	}
	_ = response.Body.Close()
	if err := <-sent; err != nil {
		t.Fatal(err)
	}
	if response.StatusCode != 401 {
		t.Errorf("got %d, want 401", response.StatusCode)
	}
	if g.head() != before {
		t.Error("an edit of a revoked device was taken")
	}
}

// slow looks, whenever it is written to, whether others could go on.
type slow struct {
	*httptest.ResponseRecorder
	s    *service
	held bool
}

func (w *slow) Write(b []byte) (int, error) {
	if !w.s.repeats.mu.TryLock() {
		w.held = true
	} else {
		w.s.repeats.mu.Unlock()
	}
	return w.ResponseRecorder.Write(b)
}

func TestAClientThatReadsSlowlyHoldsNobodyUp(t *testing.T) {
	s := &service{Config: Config{Now: time.Now}}
	key := "one"
	for _, turn := range []string{"the answer", "its repetition"} {
		w := &slow{ResponseRecorder: httptest.NewRecorder(), s: s}
		c := echo.New().NewContext(httptest.NewRequest("POST", "/", nil), w)
		ran := false
		err := s.once(c, &key, func() error {
			ran = true
			c.Response().Header().Set("ETag", `"t"`)
			return answer(c, http.StatusCreated, "stored")
		})
		if err != nil || w.Code != 201 || w.Body.String() != `"stored"` || w.Header().Get("ETag") != `"t"` || ran != (turn == "the answer") {
			t.Errorf("%s: got %d %s %v (%v), run %v", turn, w.Code, w.Body, w.Header(), err, ran)
		}
		if w.held {
			t.Errorf("%s went out while every other request with a key waited", turn)
		}
	}
}

func TestADeviceWithTheLongestLabelCanWrite(t *testing.T) {
	g := setStage(t)
	for _, label := range []string{strings.Repeat("ä", 64), strings.Repeat("🎬", 64)} {
		if _, err := g.auth.Invite("the test", pairing.Editor, label, g.production); err != nil {
			continue // refused at once, not at the first take
		}
		phone := g.admit(pairing.Editor, label, g.production)
		phone.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"by a long name"}`)).want(201)
	}
	if _, err := g.auth.Invite("the test", pairing.Editor, strings.Repeat("ä", 64), g.production); err != nil {
		t.Errorf("64 letters: %v", err)
	}
}

func TestAnOwnerOfOneProductionLearnsNoCodesOfTheServer(t *testing.T) {
	g := setStage(t)
	local := g.admit(pairing.Owner, "desk of one production", g.production)
	invitation, err := g.auth.Invite("the test", pairing.Owner, "the next desk", logbook.ID{})
	if err != nil {
		t.Fatal(err)
	}
	open := local.ask("DELETE", "/v1/invitations/"+invitation.Code, "").want(404).problem()
	none := local.ask("DELETE", "/v1/invitations/BBBBBBBB", "").want(404).problem()
	if open.Type != none.Type || open.Detail != none.Detail {
		t.Errorf("got %+v for a code that is open and %+v for one that is none, want no difference", open, none)
	}
	if len(g.auth.Invitations()) != 1 {
		t.Error("the invitation was withdrawn")
	}
}

func TestAnEditWithAWildOffsetHidesNoConflicts(t *testing.T) {
	g := setStage(t)
	for line, offset := range map[string]string{lineOfOne: "253402300799999", lineOfOther: "-253402300799999"} {
		edit := strings.Replace(g.edit(line, 1, "clip", "$clip", `{"lens":"`+line+`"}`), `"offsetMs":0`, `"offsetMs":`+offset, 1)
		g.ask("POST", g.base+"/exchange", `{"edits":[`+edit+`]}`).want(200)
	}
	if r := g.ask("GET", g.base+"/conflicts", "").want(200); r.count("conflicts") != 1 {
		t.Errorf("got %s", r.body)
	}
	g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("GET", g.base+"/color-log.json", "").want(200)
	g.ask("GET", g.base+"/color-log.csv", "").want(200)
}

func TestKeptAnswersTakeBoundedRoom(t *testing.T) {
	var r repeats
	big := &repeat{body: make([]byte, mostRepeatBytes/4)}
	for _, name := range []string{"a", "b", "b", "c", "d", "e", "f"} {
		r.keep(name, big)
	}
	if len(r.known) != 4 || len(r.order) != 4 || r.known["b"] != nil || r.known["f"] == nil || r.bytes != mostRepeatBytes {
		t.Errorf("got %v of %d bytes, want the last four of %d", r.order, r.bytes, mostRepeatBytes)
	}
	r.keep("g", &repeat{body: make([]byte, mostRepeatBytes+1)})
	if len(r.known) != 1 || r.known["g"] == nil {
		t.Errorf("got %v, want only the last", r.order)
	}
}

func TestAChangeNotesTheDeviceThatAskedForIt(t *testing.T) {
	g := setStage(t)
	one, other := g.admit(pairing.Editor, "2nd AC", g.production), g.admit(pairing.Editor, "2nd AC", g.production)
	for _, phone := range []*client{one, other} {
		after := g.head().Seq
		phone.ask("POST", g.base+"/records/note", g.fill(`{"about":"$take","text":"who was it"}`)).want(201)
		stored, err := g.store.Read(g.production, after, 1<<20)
		if err != nil || len(stored) != 1 {
			t.Fatalf("got %d edits (%v), want one", len(stored), err)
		}
		if stored[0].Via != phone.device {
			t.Errorf("got %s as the one who brought it, want %s", stored[0].Via, phone.device)
		}
	}
}
