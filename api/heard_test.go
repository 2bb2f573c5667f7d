package api

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenwhite/api/door"
)

// askAs asks the site's handler as somebody who calls the server by host.
func (c *client) askAs(host, method, path string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader("{}"))
	r.Host = host
	c.show(r)
	r.Header.Set("Content-Type", "application/json")
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	c.serve.ServeHTTP(w, r)
	return w
}

func TestNobodyIsHeardWhoCallsTheServerByAnotherName(t *testing.T) {
	g := setStage(t)
	for _, path := range []string{"/about.html", "/healthz", "/v1/productions", "/nowhere"} {
		for _, host := range []string{"rebound.example.org", "rebound.example.org:8443", ""} {
			w := g.askAs(host, "GET", path)
			p := answered(t, w.Result(), w.Body.Bytes()).problem()
			if w.Code != http.StatusMisdirectedRequest || p.Type != problemPrefix+"other-host" || w.Header().Get("Location") != "" {
				t.Errorf("%s called %q: got %d %v %s, want 421 that leads nowhere", path, host, w.Code, w.Header(), w.Body)
			}
		}
	}
	if w := g.askAs(calledSo[0], "GET", "/healthz"); w.Code != http.StatusOK {
		t.Errorf("by its own name: got %d", w.Code)
	}
}

func TestNoOperationChangesAnythingForAnotherSitesPage(t *testing.T) {
	g := setStage(t)
	before, changing := g.head(), 0
	for _, o := range operationsOf(t) {
		if o.method == http.MethodGet {
			continue
		}
		changing++
		for _, h := range [][]string{{"Origin", "https://example.org"}, {"Origin", "null"},
			{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"}} {
			w := g.askAs(calledSo[0], o.method, o.address(g.production), h...)
			if p := answered(t, w.Result(), w.Body.Bytes()).problem(); w.Code != http.StatusForbidden || p.Type != problemPrefix+"other-site" {
				t.Errorf("%s with %s: got %d %s", o.id, h, w.Code, w.Body)
			}
		}
	}
	if changing == 0 || g.head() != before {
		t.Errorf("%d operations were tried; the log changed: %v", changing, g.head() != before)
	}
}

func TestEveryAnswerCarriesTheHeadersOfTheDoor(t *testing.T) {
	g := setStage(t)
	for _, path := range []string{"/healthz", "/openapi.yaml", "/nowhere", g.base + "/color-log.csv", g.base + "/deviations"} {
		w := g.askAs(calledSo[0], "GET", path)
		for name, want := range map[string]string{
			"Content-Security-Policy": door.Policy, "X-Content-Type-Options": "nosniff",
			"Referrer-Policy": "no-referrer", "Strict-Transport-Security": "",
		} {
			if got := w.Header().Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got, want)
			}
		}
	}
}
