package browsertest

import (
	"crypto/sha256"
	"encoding/pem"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

// An Engine is what draws pages, by the browser that it is tried in.
type Engine int

const (
	Chromium  Engine = iota
	Firefox          // Firefox ESR, by WebDriver BiDi
	WebKit           // WebKitGTK's small browser, by its own driver. It keeps nothing once it is closed.
	Unwatched        // Chromium, by a driver that hears of nothing that is fetched: for figures
)

// drivenBy is the program that drives the engine, by its path from the top of this module, and what it is told of the browser.
func (e Engine) drivenBy(t testing.TB, b Browser) (driver string, told map[string]any) {
	t.Helper()
	switch e {
	case Firefox:
		told = map[string]any{"engine": "firefox", "program": needed.Tool(t, "firefox-esr"), "hosts": b.Hosts}
		needs(t, "puppeteer-core")
		b.trustIn(t, filepath.Join(b.Home, "profile"))
		return "testdata/browser/others.mjs", told
	case WebKit:
		needs(t, "puppeteer-core")
		return "testdata/browser/others.mjs", b.webKit(t)
	case Unwatched:
		needs(t, "puppeteer-core")
		return "testdata/browser/others.mjs", map[string]any{"engine": "unwatched", "program": needed.Tool(t, "chromium")}
	}
	told = map[string]any{"program": needed.Tool(t, "chromium"), "hosts": b.Hosts}
	needs(t, "playwright-core")
	b.trustIn(t, filepath.Join(b.Home, ".pki", "nssdb"))
	return "testdata/browser/run.mjs", told
}

// needs looks for an npm package that drives a browser.
func needs(t testing.TB, name string) {
	t.Helper()
	if _, err := os.Stat(root(t, "testdata/browser/node_modules/"+name)); err != nil {
		needed.Missing(t, "the npm package "+name)
	}
}

// webKit has a browser that asks the system alone what names mean and whom to trust: both are put in place for it, where
// nobody else sees it.
func (b Browser) webKit(t testing.TB) map[string]any {
	t.Helper()
	found, err := filepath.Glob("/usr/lib/*/webkit2gtk-4.1/MiniBrowser")
	if err != nil || len(found) == 0 {
		needed.Missing(t, "MiniBrowser of WebKitGTK")
	}
	told := map[string]any{"engine": "webkit", "program": needed.Tool(t, "WebKitWebDriver"), "binary": found[0]}
	needed.Tool(t, "Xvfb")
	if out, err := exec.Command(needed.Tool(t, "unshare"), "-m", "true").CombinedOutput(); err != nil {
		needed.Missing(t, "the right to mount files for one program ("+strings.TrimSpace(string(out))+")")
	}
	const bundle = "/etc/ssl/certs/ca-certificates.crt"
	trusted, err := os.ReadFile(bundle)
	if err != nil {
		needed.Missing(t, bundle)
	}
	for name, text := range map[string][]byte{"hosts": []byte("127.0.0.1 localhost " + b.Hosts + "\n"),
		"bundle": append(trusted, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: b.Trusts})...)} {
		file := filepath.Join(b.Home, name)
		if err := os.WriteFile(file, text, 0o644); err != nil {
			t.Fatal(err)
		}
		told[name] = file
	}
	return told
}

// trustIn puts the root into a store of the browser's, as a person does.
func (b Browser) trustIn(t testing.TB, store string) {
	t.Helper()
	if b.Trusts == nil {
		return
	}
	certutil := needed.Tool(t, "certutil")
	if err := os.MkdirAll(store, 0o700); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(b.Home, "root.pem")
	if err := os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: b.Trusts}), 0o600); err != nil {
		t.Fatal(err)
	}
	steps := [][]string{{"-N", "--empty-password"}, {"-A", "-t", "C,,", "-n", fmt.Sprintf("root %x", sha256.Sum256(b.Trusts)), "-i", file}}
	if _, err := os.Stat(filepath.Join(store, "cert9.db")); err == nil {
		steps = steps[1:] // it trusts another already
	}
	for _, args := range steps {
		if out, err := exec.Command(certutil, append([]string{"-d", "sql:" + store}, args...)...).CombinedOutput(); err != nil {
			t.Fatalf("certutil %v: %v: %s", args, err, out)
		}
	}
}
