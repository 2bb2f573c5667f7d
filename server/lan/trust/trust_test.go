package trust

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"io"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os/exec"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook/needed"
)

// drawRoot makes a root certificate in DER.
func drawRoot(t *testing.T) []byte {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: big.NewInt(7), Subject: pkix.Name{CommonName: "set7.local"},
		NotAfter: time.Now().Add(time.Hour), IsCA: true}
	root, err := x509.CreateCertificate(rand.Reader, c, c, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	return root
}

func someSite(t *testing.T) Site {
	return Site{Name: "set7.local", Origin: "https://set7.local:8443", Port: 8480, Root: drawRoot(t),
		Fingerprint: strings.TrimSpace(strings.Repeat("0A1B ", 16)), Until: time.Date(2032, 5, 6, 0, 0, 0, 0, time.UTC),
		Own: func() []netip.Addr {
			return []netip.Addr{netip.MustParseAddr("192.168.7.2"), netip.MustParseAddr("fd00::7")}
		}}
}

// get asks as somebody on the network.
func get(h http.Handler, method, host, path string, headers ...string) *http.Response {
	r := httptest.NewRequest(method, path, nil)
	r.Host, r.RemoteAddr = host, "192.168.7.20:51000"
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func body(t *testing.T, r *http.Response) []byte {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestNothingButTheTrustPageIsHadPlainly(t *testing.T) {
	h := someSite(t).Handler()
	for _, path := range []string{"/", "/healthz", "/trust.js", "/look.css", "/root.crt", "/root.pem", "/root.mobileconfig"} {
		for _, host := range []string{"192.168.7.2:8480", "set7.local:8480"} {
			r := get(h, "GET", host, path)
			if r.StatusCode != 200 || len(body(t, r)) == 0 || r.Header.Get("X-Content-Type-Options") != "nosniff" ||
				r.Header.Get("Strict-Transport-Security") != "" {
				t.Errorf("%s%s: got %d %v", host, path, r.StatusCode, r.Header)
			}
		}
		r := get(h, "GET", "rebound.example.org", path)
		if r.StatusCode != http.StatusMisdirectedRequest || r.Header.Get("Location") != "" {
			t.Errorf("%s under another name: got %d %v, want 421 that leads nowhere", path, r.StatusCode, r.Header)
		}
		if r := get(h, "POST", "192.168.7.2:8480", path); r.StatusCode != http.StatusMethodNotAllowed {
			t.Errorf("POST %s: got %d, want 405", path, r.StatusCode)
		}
	}
	for _, path := range []string{"/v1/server", "/v1/productions", "/v1/pairing", "/readyz", "/metrics", "/version", "/openapi.yaml", "/pair",
		"/trust.html", "//root.crt", "/root.crt/", "/../root.pem", "/healthz/"} {
		if r := get(h, "GET", "192.168.7.2:8480", path); r.StatusCode != 404 || r.Header.Get("Location") != "" {
			t.Errorf("%s: got %d %s, want 404", path, r.StatusCode, r.Header.Get("Location"))
		}
	}
}

func TestTheRootIsHadInEveryForm(t *testing.T) {
	s := someSite(t)
	h := s.Handler()
	der := get(h, "GET", "192.168.7.2", "/root.crt")
	if got := body(t, der); !bytes.Equal(got, s.Root) || der.Header.Get("Content-Type") != "application/x-x509-ca-cert" ||
		der.Header.Get("Content-Disposition") != "attachment; filename=evenwhite-set7.crt" {
		t.Errorf("DER: got %d bytes, %v", len(got), der.Header)
	}
	block, rest := pem.Decode(body(t, get(h, "GET", "192.168.7.2", "/root.pem")))
	if block == nil || !bytes.Equal(block.Bytes, s.Root) || len(rest) > 0 {
		t.Errorf("PEM: got %v", block)
	}
	r := get(h, "GET", "192.168.7.2", "/root.mobileconfig")
	if r.Header.Get("Content-Type") != "application/x-apple-aspen-config" {
		t.Errorf("the profile is %v", r.Header)
	}
	profile := read(t, body(t, r))
	inside := profile["PayloadContent"].([]any)[0].(map[string]any)
	if inside["PayloadContent"] != string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: s.Root})) ||
		inside["PayloadType"] != "com.apple.security.root" || profile["PayloadType"] != "Configuration" ||
		profile["PayloadDisplayName"] != "evenwhite set7.local" || profile["PayloadUUID"] == inside["PayloadUUID"] {
		t.Errorf("got the profile %v", profile)
	}
	other := s
	other.Root = drawRoot(t)
	again := read(t, body(t, get(other.Handler(), "GET", "192.168.7.2", "/root.mobileconfig")))
	if again["PayloadUUID"] == profile["PayloadUUID"] || again["PayloadIdentifier"] != profile["PayloadIdentifier"] {
		t.Errorf("another root of the name is to take its place: got %v after %v", again["PayloadIdentifier"], profile["PayloadIdentifier"])
	}
}

// read has another program read a property list; its data becomes a certificate in PEM.
func read(t *testing.T, list []byte) (out map[string]any) {
	t.Helper()
	python := needed.Tool(t, "python3")
	program := exec.Command(python, "-c", "import json, plistlib, ssl, sys\n"+
		"json.dump(plistlib.loads(sys.stdin.buffer.read()), sys.stdout, default=ssl.DER_cert_to_PEM_cert)")
	program.Stdin = bytes.NewReader(list)
	text, err := program.Output()
	if err == nil {
		err = json.Unmarshal(text, &out)
	}
	if err != nil {
		t.Fatalf("no property list: %v: %s", err, list)
	}
	return out
}

func TestOnlyThisServersTrustPageReadsHowItIs(t *testing.T) {
	s := someSite(t)
	for _, c := range []struct {
		name, origin string
		port         int
		read         bool
	}{
		{"by one address", "http://192.168.7.2:8480", 8480, true},
		{"by another", "http://[fd00::7]:8480", 8480, true},
		{"at the usual port", "http://192.168.7.2", 80, true},
		{"of another machine", "http://192.168.7.3:8480", 8480, false},
		{"at another port", "http://192.168.7.2:8481", 8480, false},
		{"by https", "https://192.168.7.2:8480", 8480, false},
		{"a site", "http://example.org", 8480, false},
		{"a page from a file", "null", 8480, false},
		{"none", "", 8480, false},
	} {
		s.Port = c.port
		r := get(s.Handler(), "GET", "set7.local:8480", "/healthz", "Origin", c.origin)
		want := ""
		if c.read {
			want = c.origin
		}
		if got := r.Header.Get("Access-Control-Allow-Origin"); got != want || r.Header.Get("Vary") != "Origin" {
			t.Errorf("%s (%q): got %q %v", c.name, c.origin, got, r.Header)
		}
	}
	r := get(s.Handler(), "GET", "set7.local", "/root.pem", "Origin", "http://192.168.7.2")
	if r.Header.Get("Access-Control-Allow-Origin") != "" {
		t.Error("more than healthz is read")
	}
}

func TestThePageMayAskForNameAndCertificateAlone(t *testing.T) {
	s := someSite(t)
	r := get(s.Handler(), "GET", "192.168.7.2:8480", "/")
	const want = "connect-src http://set7.local:8480/healthz https://set7.local:8443/healthz; "
	if got := r.Header.Get("Content-Security-Policy"); !strings.Contains(got, want) || !strings.HasPrefix(got, "default-src 'none'; ") {
		t.Errorf("got the policy %q, want in it %q", got, want)
	}
	text := string(body(t, r))
	for _, part := range []string{"iPhone and iPad", "Android", "macOS", "Windows", "Linux", "Firefox", "<noscript>", "<li>0A1B</li>",
		"set7.local", `href="https://set7.local:8443/"`, "6 May 2032", "evenwhite-set7.crt"} {
		if !strings.Contains(text, part) {
			t.Errorf("the page lacks %q", part)
		}
	}
	if strings.Count(text, "<li>0A1B</li>") != 16 || strings.Contains(text, "style=\"") || strings.Contains(text, "<details id") {
		t.Error("without a script not every step is to be seen, or the fingerprint is not whole")
	}
	s.Root = nil
	text = string(body(t, get(s.Handler(), "GET", "192.168.7.2:8480", "/")))
	if strings.Contains(text, "Install") || strings.Contains(text, "/root.crt") || !strings.Contains(text, "from elsewhere") {
		t.Errorf("where the certificate comes from elsewhere it says %s", text)
	}
}
