package main

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"

	"evenwhite/server/browsertest"
)

// An appOnTheWay stands before a server and hands out its app, from newer on another version of it.
type appOnTheWay struct {
	*httputil.ReverseProxy
	newer atomic.Bool
}

func before(t *testing.T, s pagesSite) *appOnTheWay {
	t.Helper()
	to, err := url.Parse(s.url())
	if err != nil {
		t.Fatal(err)
	}
	a := &appOnTheWay{ReverseProxy: &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(to)
		r.Out.Host = to.Host
		for _, name := range []string{"Accept-Encoding", "If-None-Match"} {
			r.Out.Header.Del(name)
		}
	}}}
	version := regexp.MustCompile(`evenwhite-shell-\w+`)
	a.ModifyResponse = func(answer *http.Response) error {
		if !a.newer.Load() || !strings.HasSuffix(answer.Request.URL.Path, "/sw.js") {
			return nil
		}
		text, err := io.ReadAll(answer.Body)
		if err != nil {
			return err
		}
		if text = version.ReplaceAll(text, []byte("evenwhite-shell-newer")); !bytes.Contains(text, []byte("newer")) {
			t.Errorf("the service worker says no version: %.200s", text)
		}
		answer.Body = io.NopCloser(bytes.NewReader(text))
		answer.ContentLength = int64(len(text))
		answer.Header.Del("Content-Length")
		return nil
	}
	return a
}

// A new version of the app is offered, never swapped under an open form, and taken by a person.
func TestANewVersionWaitsUntilItIsTaken(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"), "--demo")
	road := before(t, s)
	site := httptest.NewServer(road)
	defer site.Close()
	control := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { road.newer.Store(true) }))
	defer control.Close()
	day := strings.Replace(appDay(t, s), s.origin, site.URL+"/app", 1)
	var got struct {
		Before []string
		Open   struct {
			Offered bool
			Told    string
			Swapped int
		}
		Told, Draft  string
		Stays, Again bool
	}
	browsertest.Browser{}.Run(t, "../testdata/browser/app-version.mjs",
		map[string]string{"origin": site.URL, "day": day, "control": control.URL}, &got)

	if len(got.Before) != 1 || strings.Contains(got.Before[0], "newer") {
		t.Errorf("before there was another version the browser kept %q", got.Before)
	}
	if got.Open.Offered || got.Open.Swapped != 0 || strings.Contains(got.Open.Told, "new version") {
		t.Errorf("while a form is open, a new version is offered: %v, was swapped in %d times; the page says %q", got.Open.Offered,
			got.Open.Swapped, got.Open.Told)
	}
	if got.Told != "A new version is here." || !got.Stays {
		t.Errorf("once the form is closed the page says %q; it is the same page still: %v", got.Told, got.Stays)
	}
	if got.Draft != "half a sentence" || got.Again {
		t.Errorf("in the new version the form holds %q; a new version is offered again: %v", got.Draft, got.Again)
	}
}
