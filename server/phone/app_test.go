package phone

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
)

// someApp is an app of a few files.
func someApp(t *testing.T) App {
	t.Helper()
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }
	a, ok := in(fstest.MapFS{
		"index.html":                file("<style>html{background:#121212}</style>"),
		"assets/main-1a2b.js":       file("plain"),
		"assets/main-1a2b.js.gz":    file("by gzip"),
		"assets/main-1a2b.js.br":    file("by brotli"),
		"assets/engine-1a2b.wasm":   file("engine"),
		"sw.js":                     file("worker"),
		"manifest.webmanifest":      file("{}"),
		"placeholder":               file("nothing yet"),
		"assets/deeper/picture.svg": file("<svg/>"),
	})
	if !ok {
		t.Fatal("the app is not found")
	}
	return a
}

func get(h http.Handler, path string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestAFileIsSentInTheSmallestFormThatIsTaken(t *testing.T) {
	a := someApp(t)
	for accepted, want := range map[string][2]string{
		"gzip, deflate, br, zstd": {"by brotli", "br"},
		"gzip":                    {"by gzip", "gzip"},
		"br;q=0, gzip;q=0.5":      {"by gzip", "gzip"},
		"br; q=0.0, gzip;q=0":     {"plain", ""},
		"":                        {"plain", ""},
		"identity":                {"plain", ""},
	} {
		w := get(a, "/assets/main-1a2b.js", "Accept-Encoding", accepted)
		if w.Body.String() != want[0] || w.Header().Get("Content-Encoding") != want[1] {
			t.Errorf("%q: got %q packed by %q, want %q by %q", accepted, w.Body, w.Header().Get("Content-Encoding"), want[0], want[1])
		}
		if w.Header().Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: Vary is %q", accepted, w.Header().Get("Vary"))
		}
	}
}

func TestHashedFilesAreKeptAndPagesAreAskedForAnew(t *testing.T) {
	a := someApp(t)
	for path, want := range map[string][2]string{
		"/assets/engine-1a2b.wasm": {"public, max-age=31536000, immutable", "application/wasm"},
		"/assets/main-1a2b.js":     {"public, max-age=31536000, immutable", "text/javascript; charset=utf-8"},
		"/":                        {"no-cache", "text/html; charset=utf-8"},
		"/pair":                    {"no-cache", "text/html; charset=utf-8"},
		"/sw.js":                   {"no-cache", "text/javascript; charset=utf-8"},
		"/manifest.webmanifest":    {"no-cache", "application/manifest+json"},
	} {
		w := get(a, path)
		if w.Code != http.StatusOK || w.Header().Get("Cache-Control") != want[0] || w.Header().Get("Content-Type") != want[1] {
			t.Errorf("%s: got %d, %q, %q, want 200, %q", path, w.Code, w.Header().Get("Cache-Control"), w.Header().Get("Content-Type"), want)
		}
		if again := get(a, path, "If-None-Match", w.Header().Get("ETag")); again.Code != http.StatusNotModified {
			t.Errorf("%s again: got %d, want 304", path, again.Code)
		}
	}
	for _, path := range []string{"/placeholder", "/assets/main-1a2b.js.br", "/assets", "/assets/../index.html", "/v1/me", "/none.js"} {
		if w := get(a, path); w.Code != http.StatusNotFound {
			t.Errorf("%s: got %d, want 404", path, w.Code)
		}
	}
}

func TestThePolicyAllowsTheFirstStyleByItsHash(t *testing.T) {
	policy := get(someApp(t), "/").Header().Get("Content-Security-Policy")
	// printf 'html{background:#121212}' | openssl dgst -sha256 -binary | base64
	const hash = "'sha256-IXFiRUAwWQnM1fKWat9SErK+8sohNNdYCYQ6zC2tRBw='"
	if !strings.Contains(policy, hash) || !strings.Contains(policy, "script-src 'self' 'wasm-unsafe-eval';") ||
		strings.Contains(policy, "'unsafe-inline'") {
		t.Errorf("got %s, want %s in it, and no other script", policy, hash)
	}
}

func TestAProgramWithoutTheAppSaysSo(t *testing.T) {
	if _, ok := in(fstest.MapFS{"placeholder": {}}); ok {
		t.Error("an app was found where there is none")
	}
}
