package main

import (
	"bufio"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log/slog"
	"net/http"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"evenwhite/server/lan/lantest"
)

// BenchmarkNetHealth measures what a phone that wakes up pays: a new TLS connection and
// /healthz, over loopback.
func BenchmarkNetHealth(b *testing.B) {
	data := filepath.Join(b.TempDir(), "data")
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		b.Fatal(err)
	}
	server := exec.Command(program, "serve", "--data", data, "--port", "0", "--desk-port", "0", "--no-mdns")
	origin, _, stop := started(b, server)
	defer stop()
	a, err := readAuthority(data, slog.New(slog.DiscardHandler))
	if err != nil {
		b.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(a.RootPEM())
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		var took []float64
		for range 100 {
			over := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, DialContext: dialHere, ForceAttemptHTTP2: true}
			begun := time.Now()
			res, err := (&http.Client{Transport: over}).Get(origin + "/healthz")
			if err != nil {
				b.Fatal(err)
			}
			if _, err := io.Copy(io.Discard, res.Body); err != nil || res.StatusCode != http.StatusOK {
				b.Fatal(res.Status, err)
			}
			took = append(took, time.Since(begun).Seconds()*1e3)
			_ = res.Body.Close()
			over.CloseIdleConnections()
		}
		m.add("net.tls_health_ms", quantile(took, 0.5))
	}
	m.report()
}

// BenchmarkNetStart measures a first start, in a network of its own where it asks for its name,
// until all that a person reads is on the screen.
func BenchmarkNetStart(b *testing.B) {
	here, _ := lantest.Pair(b, 1, "Nothing is measured instead.")
	here.Has("e0", "10.0.0.1/24")
	program, err := exec.LookPath("evenwhite")
	if err != nil {
		b.Fatal(err)
	}
	m := medians{b: b, of: map[string][]float64{}}
	for b.Loop() {
		_, took, stop := started(b, here.Command(program, "serve", "--data", filepath.Join(b.TempDir(), "data")))
		m.add("net.start_ms", took.Seconds()*1e3)
		stop()
	}
	m.report()
}

// started starts a server, waits until it is ready, and says how long that took.
func started(b *testing.B, server *exec.Cmd) (origin string, took time.Duration, stop func()) {
	b.Helper()
	out, err := server.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	begun := time.Now()
	if err := server.Start(); err != nil {
		b.Fatal(err)
	}
	stop = func() {
		_ = server.Process.Kill()
		_ = server.Wait() // says that it was killed
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if found := originPrinted.FindStringSubmatch(lines.Text()); found != nil {
			origin = found[1]
		}
		if lines.Text() == readyLine {
			return origin, time.Since(begun), stop
		}
	}
	stop()
	b.Fatal("the server was not ready")
	return
}
