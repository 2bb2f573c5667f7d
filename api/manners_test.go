package api

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/http/httptrace"
	"strings"
	"testing"

	"evenwhite/logbook"
)

// bare asks without the client's own packing, and reads what was sent.
func (c *client) bare(method, path string, header ...string) *reply {
	c.Helper()
	request, err := http.NewRequest(method, c.url+path, nil)
	if err != nil {
		c.Fatal(err)
	}
	c.show(request)
	for i := 0; i < len(header); i += 2 {
		request.Header.Set(header[i], header[i+1])
	}
	response, err := (&http.Transport{DisableCompression: true, DisableKeepAlives: true}).RoundTrip(request)
	if err != nil {
		c.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		c.Fatal(err)
	}
	return answered(c.T, response, body)
}

func unzipped(t *testing.T, body []byte) []byte {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	whole, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return whole
}

func TestEveryAnswerForbidsGuessingAndReferrers(t *testing.T) {
	g := setStage(t)
	stranger := &client{site: g.site}
	check := func(name string, r *reply) {
		if r.header.Get("X-Content-Type-Options") != "nosniff" || r.header.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%s, answered %d, has the headers %v", name, r.status, r.header)
		}
	}
	for _, o := range operationsOf(t) {
		check(o.id, o.try(g.client, g.production))
		check(o.id+" by a stranger", o.try(stranger, g.production))
	}
	check("an address that is none", stranger.ask("GET", "/v9", ""))
	check("a method that is not taken", stranger.ask("PUT", "/healthz", ""))
}

func TestHEADIsAnsweredAsGETWithoutABody(t *testing.T) {
	g := setStage(t)
	for _, path := range []string{
		g.record("take", "take"), g.base, g.base + "/records/take", g.base + "/color-log.csv",
		"/healthz", "/openapi.yaml", "/v9", g.record("clip", "take"),
	} {
		want, got := g.bare("GET", path), g.bare("HEAD", path)
		if got.status != want.status || len(got.body) != 0 {
			t.Errorf("%s: got status %d and %d bytes, want %d and none", path, got.status, len(got.body), want.status)
		}
		for _, name := range []string{"ETag", "Content-Type", "Cache-Control", "Content-Disposition"} {
			if path != "/v9" && want.status == 200 && got.header.Get(name) != want.header.Get(name) {
				t.Errorf("%s: %s is %q, want %q", path, name, got.header.Get(name), want.header.Get(name))
			}
		}
	}
	if r := g.bare("HEAD", g.base+"/events"); r.status != http.StatusMethodNotAllowed {
		t.Errorf("a stream: got %d, want 405", r.status)
	}
}

func TestTextIsPackedForWhoTakesItAndTagsAndDigestsStandForWhatIsSent(t *testing.T) {
	g := setStage(t)
	packed := 0
	for _, o := range operationsOf(t) {
		if o.method != http.MethodGet || o.id == "getEvents" {
			continue
		}
		path := strings.NewReplacer("{production}", g.production.String(),
			"{kind}", "take", "{record}", g.ids["take"], "{setUp}", g.ids["setUp"]).Replace(o.path)
		got, want := g.bare("GET", path, "Accept-Encoding", "gzip"), g.bare("GET", path)
		if want.header.Get("Content-Encoding") != "" {
			t.Errorf("%s: nobody asked for %s", o.id, want.header.Get("Content-Encoding"))
		}
		if got.header.Get("Content-Encoding") != "gzip" {
			continue
		}
		packed++
		if strings.HasPrefix(got.header.Get("ETag"), `"`) || got.header.Get("Repr-Digest") != "" {
			t.Errorf("%s is packed under the tag or digest of what is not: %v", o.id, got.header)
		}
		for _, r := range []*reply{got, want} {
			if r.header.Get("Vary") != "Accept-Encoding" {
				t.Errorf("%s: Vary is %q", o.id, r.header.Get("Vary"))
			}
		}
		if !bytes.Equal(unzipped(t, got.body), want.body) || len(got.body) >= len(want.body) {
			t.Errorf("%s: %d bytes are sent packed, %d plain, and they are to be the same", o.id, len(got.body), len(want.body))
		}
	}
	if packed < 4 {
		t.Errorf("%d operations were packed, want the contract, the schema, records, deviations and more", packed)
	}
	if r := g.bare("GET", "/openapi.yaml", "Accept-Encoding", "gzip;q=0, identity"); r.header.Get("Content-Encoding") != "" {
		t.Error("what refuses gzip is packed for")
	}
	record := g.bare("GET", g.record("setUp", "setUp"), "Accept-Encoding", "gzip")
	if record.header.Get("Content-Encoding") != "" || !strings.HasPrefix(record.tag(), `"`) {
		t.Errorf("a record: got %v, want it plain under a strong tag", record.header)
	}
	g.bare("GET", g.record("setUp", "setUp"), "Accept-Encoding", "gzip", "If-None-Match", record.tag()).want(304)
	log := g.bare("GET", g.base+"/color-log.csv", "Accept-Encoding", "gzip")
	if sum := sha256.Sum256(log.body); log.header.Get("Repr-Digest") != "sha-256=:"+base64.StdEncoding.EncodeToString(sum[:])+":" {
		t.Errorf("the digest %s is not that of the bytes", log.header.Get("Repr-Digest"))
	}
}

// faulty is a store whose reading of clashes panics.
type faulty struct{ logbook.Store }

func (faulty) Clashes(logbook.ID) ([]logbook.Entry, error) { panic("a clash too many") }

// workshop is the service on a site's store, with a log of its own that may be read
// once a request was answered.
func (s *site) workshop(store logbook.Store) (http.Handler, *bytes.Buffer) {
	s.Helper()
	log := &bytes.Buffer{}
	handler, err := New(Config{Names: calledSo, Site: Site{Origin: s.url}, Store: store, Auth: s.auth, Now: s.clock.now,
		Log: slog.New(slog.NewTextHandler(log, nil)), Program: "evenwhite test"})
	if err != nil {
		s.Fatal(err)
	}
	return handler, log
}

func TestAPanicIsAProblemAndTheConnectionGoesOn(t *testing.T) {
	g := setStage(t)
	handler, log := g.workshop(faulty{g.store})
	server := httptest.NewServer(handler)
	reused := false
	ask := func(path string) *reply {
		trace := &httptrace.ClientTrace{GotConn: func(i httptrace.GotConnInfo) { reused = i.Reused }}
		request, err := http.NewRequest("GET", server.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		g.show(request)
		response, err := server.Client().Do(request.WithContext(httptrace.WithClientTrace(request.Context(), trace)))
		if err != nil {
			t.Fatal(err)
		}
		defer response.Body.Close()
		body, err := io.ReadAll(response.Body)
		if err != nil {
			t.Fatal(err)
		}
		return &reply{t, response.StatusCode, response.Header, body}
	}
	if p := ask(g.base + "/quarantine").want(500).problem(); p.Type != problemPrefix+"internal" || strings.Contains(p.Detail, "clash") {
		t.Errorf("got %+v, want a problem that says nothing of the inside", p)
	}
	ask(g.base + "/quarantine").want(500)
	ask(g.base + "/records/take").want(200)
	if !reused {
		t.Error("the connection was given up")
	}
	server.Close() // waits for the handlers, which write the log
	for _, part := range []string{"a handler panicked", "a clash too many", "faulty.Clashes", "/v1/productions/:production/quarantine"} {
		if !strings.Contains(log.String(), part) {
			t.Errorf("the log does not say %q: %s", part, log)
		}
	}
}

// A panic under an Idempotency-Key must leave neither the lock nor the answer's
// writer in hand.
func TestAPanicUnderAnIdempotencyKeyReachesTheCaller(t *testing.T) {
	g := setStage(t)
	handler, _ := g.workshop(unwriting{g.store})
	for range 2 {
		r := httptest.NewRequest("POST", g.base+"/records/gel", strings.NewReader(`{"name":"full green","gelKind":"green"}`))
		g.show(r)
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Idempotency-Key", "once")
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		var p Problem
		if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil || w.Code != 500 || p.Status != 500 {
			t.Errorf("got %d %s (%v), want a problem", w.Code, w.Body, err)
		}
	}
}

type unwriting struct{ logbook.Store }

func (unwriting) Append(logbook.ID, []logbook.Entry) ([]logbook.Receipt, error) {
	panic("a page too many")
}

func TestTheLogSaysWhoDidWhatAndHoldsNoSecret(t *testing.T) {
	g := setStage(t)
	handler, log := g.workshop(g.store)
	var secrets []string
	asker := g.client
	ask := func(method, path, body string) *reply {
		log.Reset()
		r := httptest.NewRequest(method, path, strings.NewReader(body))
		asker.show(r)
		secrets = append(secrets, r.Header["Dpop"]...)
		if body != "" {
			r.Header.Set("Content-Type", "application/json")
		}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		for _, secret := range append(secrets, g.token) {
			if strings.Contains(log.String(), secret) {
				t.Errorf("%s %s: the log holds a secret: %s", method, path, log)
			}
		}
		return &reply{t, w.Code, w.Header(), w.Body.Bytes()}
	}
	says := func(parts ...string) {
		t.Helper()
		for _, part := range parts {
			if !strings.Contains(log.String(), part) {
				t.Errorf("the log does not say %q: %s", part, log)
			}
		}
	}
	ask("GET", g.base+"/records/take?cursor=abc", "")
	says("level=INFO msg=request method=GET", "path=/v1/productions/:production/records/:kind", "status=400")
	ask("GET", g.base+"/records/take", "").want(200)
	ask("POST", g.base+"/exchange", `{}`).want(200)
	if log.Len() != 0 {
		t.Errorf("what is asked all day is logged: %s", log)
	}
	ask("POST", g.base+"/records/gel", `{"name":"full green","gelKind":"green"}`).want(201)
	says("method=POST", "status=201", "device="+g.device.String(), "production="+g.production.String(), "from=192.0.2.1")
	invitation := ask("POST", "/v1/invitations", `{"role":"editor","label":"2nd AC"}`).want(201)
	code, _ := invitation.at("code").Text()
	secrets = append(secrets, code)
	ask("DELETE", "/v1/invitations/"+code, "").want(204)
	says("method=DELETE path=/v1/invitations/:code status=204")
	again, _ := ask("POST", "/v1/invitations", `{"role":"editor","label":"2nd AC"}`).want(201).at("code").Text()
	secrets = append(secrets, again)
	asker = g.phone()
	admission := ask("POST", "/v1/pairing", `{"code":"`+again+`"}`).want(201)
	says("path=/v1/pairing status=201")
	token, _ := admission.at("token").Text()
	secrets = append(secrets, token)
	ask("POST", "/v1/token", `{}`).want(200)
	says("path=/v1/token")
	ask("POST", "/v1/token", `{"device":"`+g.device.String()+`","secret":"told by a version of before"}`).want(401)
	says("path=/v1/token status=401")
	if strings.Contains(log.String(), "told by a version of before") {
		t.Errorf("the log holds a secret: %s", log)
	}
}
