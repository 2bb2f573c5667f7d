package api

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/openapi"
)

func TestServiceItself(t *testing.T) {
	s := openSite(t)
	stranger := &client{site: s}
	stranger.ask("GET", "/healthz", "").want(200)
	stranger.ask("GET", "/readyz", "").want(200)
	if v := stranger.ask("GET", "/version", "").want(200); v.at("program") != `"evenwhite test"` || v.at("rules") != "1" {
		t.Errorf("got %s", v.body)
	}
	if text, err := openapi.Served(); err != nil || !bytes.Equal(stranger.ask("GET", "/openapi.yaml", "").want(200).body, text) {
		t.Error("what is served is not the contract")
	}
	if r := stranger.ask("GET", "/color-log.schema.json", "").want(200); r.at("$schema") != `"https://json-schema.org/draft/2020-12/schema"` {
		t.Errorf("got %s", shorten(string(r.body)))
	}
	t.Run("it says what a person should see to, and is not ready where it takes no changes", func(t *testing.T) {
		var broken error
		degraded := false
		state := func() State { return State{[]string{"no backup could be made"}, degraded, broken} }
		handler, err := New(Config{Names: calledSo, Site: Site{Origin: s.url}, Store: s.store, Auth: s.auth,
			Now: s.clock.now, Log: s.logger, State: state})
		if err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRecorder()
		handler.ServeHTTP(r, httptest.NewRequest("GET", "/readyz", nil))
		if want := `{"status":"ok","warnings":["no backup could be made"]}`; r.Code != 200 || r.Body.String() != want {
			t.Errorf("got %d %s, want %s", r.Code, r.Body, want)
		}
		degraded = true
		r = httptest.NewRecorder()
		handler.ServeHTTP(r, httptest.NewRequest("GET", "/readyz", nil))
		if !strings.Contains(r.Body.String(), `"degraded"`) {
			t.Errorf("where something is not done, it says %s", r.Body)
		}
		broken = logbook.ErrBroken
		if status := serve(handler, "/readyz").status; status != http.StatusServiceUnavailable {
			t.Errorf("with a disk that failed: got %d, want 503", status)
		}
	})
	t.Run("it is not ready without its store", func(t *testing.T) {
		closed := logbook.NewMemory()
		auth, err := pairing.OpenAuth(pairing.Config{Keep: closed, Now: s.clock.now, Log: s.logger})
		if err != nil {
			t.Fatal(err)
		}
		handler, err := New(Config{Names: calledSo, Site: Site{Origin: s.url}, Store: closed, Auth: auth, Now: s.clock.now, Log: s.logger})
		if err != nil {
			t.Fatal(err)
		}
		if err := closed.Close(); err != nil {
			t.Fatal(err)
		}
		if status := serve(handler, "/readyz").status; status != http.StatusServiceUnavailable {
			t.Errorf("got %d, want 503", status)
		}
	})
}
