package api

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3filter"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/prooftest"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
)

func init() {
	openapi3filter.RegisterBodyDecoder("application/yaml", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("text/markdown", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("text/csv", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("text/html", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("image/svg+xml", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("application/schema+json", openapi3filter.JSONBodyDecoder)
}

// A clock that stands until it is moved.
type testClock struct {
	at time.Time
	mu sync.Mutex
}

func (c *testClock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *testClock) move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

// A site is the service on a real store behind a real socket. Every answer that
// its clients read is held to the contract.
type site struct {
	*testing.T
	url    string
	serve  http.Handler
	auth   *pairing.Auth
	store  logbook.Store
	logs   *Logs
	path   string // of the store's file
	clock  *testClock
	http   *http.Client
	log    *journal
	logger *slog.Logger // writes to log

	key     ed25519.PrivateKey
	damaged bool // and stays so
}

// A journal is a log that is read while the site goes on writing to it.
type journal struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (j *journal) Write(b []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.Write(b)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.String()
}

// calledSo is how httptest.NewRequest calls a server.
var calledSo = []string{"example.com"}

func openSite(t *testing.T) *site {
	t.Helper()
	return openSiteOn(t, filepath.Join(t.TempDir(), "log.db"), pairing.DrawKey())
}

// openSiteOn opens a site on a file, which must be whole in the end.
func openSiteOn(t *testing.T, path string, key ed25519.PrivateKey) *site {
	t.Helper()
	store, err := bolt.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	clock := &testClock{at: time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)}
	s := &site{T: t, store: store, path: path, key: key, clock: clock, log: &journal{}}
	s.logger = slog.New(slog.NewTextHandler(s.log, nil))
	if s.auth, err = pairing.OpenAuth(pairing.Config{Keep: store, Key: key, Now: s.clock.now, Log: s.logger}); err != nil {
		t.Fatal(err)
	}
	s.logs = NewLogs(store)
	server := httptest.NewUnstartedServer(nil)
	s.url = "http://" + server.Listener.Addr().String()
	handler, err := New(Config{Names: calledSo, Site: Site{Origin: s.url, Name: "set7"}, Draw: toScan, Store: store, Logs: s.logs,
		Auth: s.auth, Now: s.clock.now, Log: s.logger, Program: "evenwhite test", Heartbeat: time.Hour,
		Removals: filepath.Join(filepath.Dir(path), "removed")})
	if err != nil {
		t.Fatal(err)
	}
	s.serve = handler
	server.Config.Handler = handler
	server.Start()
	s.http = server.Client()
	s.http.Transport = newWitness(t, s.http.Transport)
	t.Cleanup(func() {
		server.Close()
		if err := store.Close(); err != nil {
			t.Error(err)
		}
		if report, err := bolt.Check(path); err != nil || !report.Whole() && !s.damaged {
			t.Errorf("the store does not pass its check: %v %+v", err, report)
		}
	})
	return s
}

// A client is a device that was admitted.
type client struct {
	*site
	token  string
	device logbook.ID
	signs  *prooftest.Key // with this key; nil: it is a script, or nobody
}

// show puts on a request what shows whose it is.
func (c *client) show(request *http.Request) {
	switch {
	case c.signs != nil:
		request.Header.Set("DPoP", c.signs.Proof(request.Method, c.url+request.URL.EscapedPath(), c.token, c.auth.Nonce()))
		if c.token != "" {
			request.Header.Set("Authorization", "DPoP "+c.token)
		}
	case c.token != "":
		request.Header.Set("Authorization", "Bearer "+c.token)
	}
}

// lines are the headers that show whose a request is.
func (c *client) lines(method, path string) string {
	var b strings.Builder
	request := httptest.NewRequest(method, path, nil)
	c.show(request)
	if err := request.Header.Write(&b); err != nil {
		c.Fatal(err)
	}
	return b.String()
}

// join gives the device one more role.
func (c *client) join(role pairing.Role, label string, production logbook.ID) {
	c.Helper()
	invitation, err := c.auth.Invite("the test", role, label, production)
	if err != nil {
		c.Fatal(err)
	}
	c.redeem(invitation.Code)
}

// redeem lets the device in by a code.
func (c *client) redeem(code string) {
	c.Helper()
	c.clock.move(time.Minute) // so that the limits on pairing are not met
	const path = "/v1/pairing"
	admission, err := c.auth.Pair(pairing.Request{Address: "192.0.2.1", Code: code, Shown: pairing.Credentials{Method: "POST",
		Origins: []string{c.url}, Path: path, Proofs: []string{c.signs.Proof("POST", c.url+path, "", c.auth.Nonce())}}})
	if err != nil {
		c.Fatal(err)
	}
	c.token, c.device = admission.Token, admission.Device
}

// admit pairs a device; the zero production stands for the whole server.
func (s *site) admit(role pairing.Role, label string, production logbook.ID) *client {
	s.Helper()
	c := s.phone()
	c.join(role, label, production)
	return c
}

// An answered request.
type reply struct {
	*testing.T
	status int
	header http.Header
	body   []byte
}

// answered is an answer that was read to its end, with what came behind it among its headers.
func answered(t *testing.T, response *http.Response, body []byte) *reply {
	maps.Copy(response.Header, response.Trailer)
	return &reply{t, response.StatusCode, response.Header, body}
}

// header fields are given as pairs after the body.
func (c *client) ask(method, path, body string, header ...string) *reply {
	c.Helper()
	var from io.Reader
	if body != "" {
		from = strings.NewReader(body)
	}
	request, err := http.NewRequest(method, c.url+path, from)
	if err != nil {
		c.Fatal(err)
	}
	c.show(request)
	if body != "" {
		request.Header.Set("Content-Type", "application/json")
	}
	if method == http.MethodPatch {
		request.Header.Set("Content-Type", mergePatch)
	}
	for i := 0; i < len(header); i += 2 {
		if header[i+1] == "" {
			request.Header.Del(header[i])
			continue
		}
		request.Header.Set(header[i], header[i+1])
	}
	return c.do(request)
}

func (c *client) do(request *http.Request) *reply {
	c.Helper()
	response, err := c.http.Do(request)
	if err != nil {
		c.Fatal(err)
	}
	defer func() { _ = response.Body.Close() }()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		c.Fatal(err)
	}
	return answered(c.T, response, text)
}

// want ends the test where the status is another.
func (r *reply) want(status int) *reply {
	r.Helper()
	if r.status != status {
		r.Fatalf("got status %d, want %d: %s", r.status, status, r.body)
	}
	return r
}

// at reads a value from the answer: names of members and indexes of items.
func (r *reply) at(path ...any) logbook.Value {
	r.Helper()
	v, err := logbook.ParseValue(string(r.body))
	if err != nil {
		r.Fatalf("the answer is no JSON: %v: %s", err, r.body)
	}
	for _, step := range path {
		switch step := step.(type) {
		case string:
			v = v.Member(step)
		case int:
			i := 0
			found := logbook.Value("")
			for item := range v.Items() {
				if i == step {
					found = item
				}
				i++
			}
			v = found
		}
	}
	return v
}

func (r *reply) count(path ...any) int {
	r.Helper()
	n := 0
	for range r.at(path...).Items() {
		n++
	}
	return n
}

func (r *reply) id() string {
	r.Helper()
	text, ok := r.at("id").Text()
	if !ok {
		r.Fatalf("the answer has no id: %s", r.body)
	}
	return text
}

func (r *reply) tag() string { return r.header.Get("ETag") }

func (r *reply) problem() Problem {
	r.Helper()
	var p Problem
	if err := json.Unmarshal(r.body, &p); err != nil {
		r.Fatalf("the answer is no problem: %s", r.body)
	}
	return p
}

// serve asks a handler without a socket.
func serve(h http.Handler, path string) struct{ status int } {
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, path, nil))
	return struct{ status int }{rec.Code}
}

// toScan stands for the drawing of what is to be scanned.
func toScan(text, _ string) (string, error) { return "<svg>" + text + "</svg>", nil }
