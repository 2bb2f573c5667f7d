package api

import (
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"net/http/httptest"
	"strings"
	"testing"

	"evenwhite/openapi"
)

func TestPagesForPeopleNeedNoScript(t *testing.T) {
	g := setStage(t)
	stranger := &client{site: g.site}
	home, contract := stranger.ask("GET", "/about.html", "").want(200), stranger.ask("GET", "/openapi.html", "").want(200)
	for name, r := range map[string]*reply{"the page of the server": home, "the contract": contract} {
		text := string(r.body)
		_, style, _ := strings.Cut(text, "<style>")
		style, _, _ = strings.Cut(style, "</style>")
		sum := sha256.Sum256([]byte(style))
		policy := r.header.Get("Content-Security-Policy")
		if r.header.Get("Content-Type") != "text/html; charset=utf-8" || !strings.HasPrefix(policy, "default-src 'none'; ") ||
			!strings.Contains(policy, "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'") {
			t.Errorf("%s: %v does not let its style in, and nothing else", name, r.header)
		}
		for _, no := range []string{"<script", "style=\"", " src=", "http://", "@import", "url("} {
			if strings.Contains(text, no) && (name == "the page of the server" || no == "<script") {
				t.Errorf("%s holds %q", name, no)
			}
		}
	}
	for _, part := range []string{"It works.", "evenwhite test", `href="/openapi.html"`, `href="/openapi.yaml"`, `href="/color-log.schema.json"`} {
		if !strings.Contains(string(home.body), part) {
			t.Errorf("the page of the server does not say %q: %s", part, home.body)
		}
	}
	for _, o := range operationsOf(t) {
		if !strings.Contains(string(contract.body), `<details id="`+o.id+`"><summary><b>`+o.method+" "+o.path+"</b>") {
			t.Errorf("the contract's page lacks %s", o.id)
		}
	}
	document, err := openapi.Load()
	if err != nil {
		t.Fatal(err)
	}
	for name := range document.Components.Schemas {
		if !strings.Contains(string(contract.body), `<details id="`+name+`">`) {
			t.Errorf("the contract's page lacks the schema %s", name)
		}
	}
}

func TestThePageOfTheServerSaysHowTheServerIs(t *testing.T) {
	s := openSite(t)
	for _, c := range []struct {
		warnings []string
		failed   error
		want     string
	}{
		{[]string{"no backup <since> noon"}, nil, "no backup &lt;since&gt; noon"},
		{nil, errors.New("sector 9"), "It answers, and takes no changes"},
	} {
		handler, err := New(Config{Names: calledSo, Site: Site{Origin: s.url}, Store: s.store, Auth: s.auth, Now: s.clock.now, Log: s.logger,
			State: func() State { return State{Warnings: c.warnings, Err: c.failed} }})
		if err != nil {
			t.Fatal(err)
		}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, httptest.NewRequest("GET", "/about.html", nil))
		if w.Code != 200 || !strings.Contains(w.Body.String(), c.want) || strings.Contains(w.Body.String(), "sector 9") {
			t.Errorf("got %d %s, want %q", w.Code, w.Body, c.want)
		}
	}
}

func TestWhatIsKnownIsNotSentAgain(t *testing.T) {
	g := setStage(t)
	list, history := g.base+"/records/clip?limit=1", g.record("clip", "clip")+"/history"
	tags := map[string]string{}
	for _, path := range []string{"/about.html", "/openapi.html", "/openapi.yaml", "/color-log.schema.json", list, history} {
		r := g.bare("GET", path, "Accept-Encoding", "gzip").want(200)
		if tags[path] = r.tag(); !strings.HasPrefix(r.tag(), `W/"`) || r.header.Get("Cache-Control") != "no-cache" {
			t.Errorf("%s: got the tag %s and %s", path, r.tag(), r.header.Get("Cache-Control"))
		}
		for _, known := range []string{r.tag(), `"other", ` + r.tag(), "*"} {
			again := g.bare("GET", path, "If-None-Match", known)
			if again.status != 304 || len(again.body) != 0 || again.tag() != r.tag() {
				t.Errorf("%s, known as %s: got %d with %d bytes", path, known, again.status, len(again.body))
			}
		}
	}
	g.writeNote()
	for _, path := range []string{list, history} {
		if r := g.bare("GET", path, "If-None-Match", tags[path]).want(200); r.tag() == tags[path] {
			t.Errorf("%s: it has the same tag after an edit", path)
		}
	}
	g.startAnew()
	if r := g.bare("GET", list); r.want(200).tag() == tags[list] {
		t.Errorf("another start gives the tag %s again", r.tag())
	}
}
