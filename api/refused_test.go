package api

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// raw serves a site's handler behind a ProblemListener and sends it bytes.
func (s *site) raw(text string, readTimeout time.Duration) *http.Response {
	s.Helper()
	handler, _ := s.workshop(s.store)
	server := httptest.NewUnstartedServer(handler)
	server.Listener = ProblemListener(server.Listener)
	server.Config.MaxHeaderBytes, server.Config.ReadTimeout = 32<<10, readTimeout
	server.Start()
	s.Cleanup(server.Close)
	c, err := net.Dial("tcp", server.Listener.Addr().String())
	if err != nil {
		s.Fatal(err)
	}
	s.Cleanup(func() { _ = c.Close() })
	go func() { _, _ = io.WriteString(c, text) }() // it may be refused before it is read to its end
	response, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		s.Fatal(err)
	}
	return response
}

func TestWhatTheHTTPServerRefusesIsAProblem(t *testing.T) {
	s := openSite(t)
	for _, c := range []struct {
		name, text string
		status     int
		kind       string
	}{
		{"a header that is too long", "GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Long: " + strings.Repeat("x", 80<<10) + "\r\n\r\n", 431, "header-too-large"},
		{"the whole name of a state with more lines than an address holds", "GET /v1/productions/" + drawID().String() + "/color-log.csv?state=" +
			strings.Repeat("5f2c0fe83f70aec7_50.", 4<<10) + " HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", 431, "header-too-large"},
		{"what is no request", "LET ME IN\r\n\r\n", 400, "bad-request"},
		{"no Host", "GET /healthz HTTP/1.1\r\n\r\n", 400, "bad-request"},
		{"a header that is none", "GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\nno colon\r\n\r\n", 400, "bad-request"},
	} {
		r := s.raw(c.text, 0)
		body, err := io.ReadAll(r.Body)
		var p Problem
		if err == nil {
			err = json.Unmarshal(body, &p)
		}
		if err != nil || r.StatusCode != c.status || p.Status != c.status || p.Type != problemPrefix+c.kind || p.Title == "" ||
			r.Header.Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: got %s %v %s (%v)", c.name, r.Status, r.Header, body, err)
		}
	}
	if r := s.raw("GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", 0); r.StatusCode != 200 {
		t.Errorf("a request that is whole: got %s", r.Status)
	}
}

func TestAnAnswerOfAHandlerIsLeftAlone(t *testing.T) {
	for _, answer := range []string{
		"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nDate: Tue\r\nConnection: close\r\n\r\n400 Bad Request",
		"HTTP/1.1 200 OK" + refusedHeaders + "200 OK", "", "HTTP/1.1 ", "\x16\x03\x01", "400 Bad Request",
	} {
		if got, ok := refusedProblem([]byte(answer)); ok {
			t.Errorf("%q became %s", answer, got)
		}
	}
	plain := refusedPlain + "Client sent an HTTP request to an HTTPS server.\n"
	if got, ok := refusedProblem([]byte(plain)); !ok || !strings.Contains(string(got), `"detail":"Client sent an HTTP request to an HTTPS server."`) {
		t.Errorf("who speaks without TLS is told %s", got)
	}
}

func TestABodyThatDoesNotCome(t *testing.T) {
	g := setStage(t)
	r := g.raw(fmt.Sprintf("POST %s/exchange HTTP/1.1\r\nHost: 127.0.0.1\r\n%sContent-Type: application/json\r\n"+
		"Content-Length: 100\r\n\r\n{", g.base, g.lines("POST", g.base+"/exchange")), 200*time.Millisecond)
	body, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusRequestTimeout || !strings.Contains(string(body), problemPrefix+"too-slow") {
		t.Errorf("got %s %s (%v), want 408", r.Status, body, err)
	}
}
