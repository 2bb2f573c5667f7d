package phone

import (
	"io/fs"
	"os"
	"path"
	"regexp"
	"strings"
	"testing"
)

// Budgets of what a first load fetches, in bytes as they are sent.
const (
	mostShell        = 60_000 // by brotli
	mostEngineBrotli = 1_350_000
	mostEngineGzip   = 1_850_000
)

// Whatever the page and its scripts name: files of the head, imports, and the engine's worker.
var (
	namedByPage   = regexp.MustCompile(`(?:src|href)="\./([^"]+)"`)
	namedByScript = regexp.MustCompile("(?:from|import) ?[\"`]\\./([^\"`]+)[\"`]|new URL\\(new URL\\(`([^`]+)`")
	asksForLater  = regexp.MustCompile("import\\(`\\./([^`]+)`\\)")
)

// shellOf lists what a first screen needs: the page, what it names, and what those import. What is
// imported by a call comes later.
func shellOf(files fs.FS) (shell, later []string, err error) {
	seen := map[string]bool{indexPage: true}
	for shell = []string{indexPage}; len(shell) > 0; {
		at := len(seen)
		for _, name := range shell {
			text, err := fs.ReadFile(files, name)
			if err != nil {
				return nil, nil, err
			}
			if name == indexPage {
				for _, found := range namedByPage.FindAllSubmatch(text, -1) {
					seen[string(found[1])] = true
				}
			}
			if path.Ext(name) != ".js" {
				continue
			}
			for _, found := range namedByScript.FindAllSubmatch(text, -1) {
				seen[path.Join(path.Dir(name), string(found[1])+string(found[2]))] = true
			}
			for _, found := range asksForLater.FindAllSubmatch(text, -1) {
				later = append(later, path.Join(path.Dir(name), string(found[1])))
			}
		}
		if len(seen) == at {
			return shell, later, nil
		}
		shell, later = shell[:0], nil
		for name := range seen {
			shell = append(shell, name)
		}
	}
	return shell, later, nil
}

// sent is how many bytes files take, each in the form that a browser is sent which takes a packing.
func sent(t testing.TB, a App, packing string, names ...string) (bytes int) {
	t.Helper()
	for _, name := range names {
		body, _, err := a.read(name, packing)
		if err != nil {
			t.Fatal(err)
		}
		bytes += len(body)
	}
	return bytes
}

// builtApp is the app that this test was built with.
func builtApp(t testing.TB) App {
	t.Helper()
	a, ok := Open()
	if !ok && os.Getenv("CI") != "" {
		t.Fatal(HowToBuild)
	}
	if !ok {
		t.Skip("SKIPPED, NOT CHECKED: " + HowToBuild)
	}
	return a
}

// engineOf is the engine's file.
func engineOf(t testing.TB, a App) string {
	t.Helper()
	found, err := fs.Glob(a.files, "assets/*.wasm")
	if err != nil || len(found) != 1 {
		t.Fatalf("the app has the engines %q (%v), want one", found, err)
	}
	return found[0]
}

func TestTheAppIsSmallEnoughForItsFirstLoad(t *testing.T) {
	a := builtApp(t)
	shell, later, err := shellOf(a.files)
	if err != nil {
		t.Fatal(err)
	}
	engine := engineOf(t, a)
	for _, c := range []struct {
		what      string
		bytes, of int
	}{
		{"the shell, by brotli", sent(t, a, "br", shell...), mostShell},
		{"the engine, by brotli", sent(t, a, "br", engine), mostEngineBrotli},
		{"the engine, by gzip", sent(t, a, "gzip", engine), mostEngineGzip},
	} {
		if c.bytes > c.of {
			t.Errorf("%s, is %d bytes, at most %d", c.what, c.bytes, c.of)
		}
		t.Logf("%s: %d bytes", c.what, c.bytes)
	}
	if len(shell) < 6 || len(later) == 0 {
		t.Errorf("a first load fetches %q, and later %q: a file is not found any more", shell, later)
	}

	// What comes later is kept for a phone without a network, too.
	worker, err := fs.ReadFile(a.files, "sw.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(append(shell, later...), engine) {
		if !strings.Contains(string(worker), name) {
			t.Errorf("the service worker does not keep %s", name)
		}
	}
}

// BenchmarkPhoneSizes measures what a first load of the app fetches, as it is sent.
func BenchmarkPhoneSizes(b *testing.B) {
	a := builtApp(b)
	shell, later, err := shellOf(a.files)
	if err != nil {
		b.Fatal(err)
	}
	engine := engineOf(b, a)
	for b.Loop() {
		b.ReportMetric(float64(sent(b, a, "br", shell...)), "phone.shell_bytes")
		b.ReportMetric(float64(sent(b, a, "br", later...)), "phone.later_bytes")
		b.ReportMetric(float64(sent(b, a, "br", engine)), "phone.engine_brotli_bytes")
		b.ReportMetric(float64(sent(b, a, "gzip", engine)), "phone.engine_gzip_bytes")
	}
}
