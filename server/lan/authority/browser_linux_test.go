package authority

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	_ "embed"
	"encoding/json"
	"fmt"
	"log"
	"maps"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"evenwhite/logbook/needed"
)

// patience is far longer than any browser takes; nothing is measured by it.
const patience = 2 * time.Minute

// A browser is started with an empty home that holds nothing but the roots it is to trust.
// It is never told to pass over an error, and finds no name but that of the test's server.
type browser struct {
	name, program string
	command       func(t *testing.T, home, host, url string, root *x509.Certificate) *exec.Cmd
}

var browsers = []browser{
	{"Chromium", "chromium", func(t *testing.T, home, host, url string, root *x509.Certificate) *exec.Cmd {
		trust(t, filepath.Join(home, ".pki", "nssdb"), root)
		return exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
			"--disable-component-update", "--user-data-dir="+filepath.Join(home, "data"),
			"--host-resolver-rules=MAP "+host+" 127.0.0.1, MAP * ~NOTFOUND", url)
	}},
	{"Firefox", "firefox-esr", func(t *testing.T, home, host, url string, root *x509.Certificate) *exec.Cmd {
		profile := filepath.Join(home, "profile")
		trust(t, profile, root)
		// All but the test's server goes to a proxy that is not there: the browser calls nobody.
		set := fmt.Sprintf(`user_pref("network.dns.localDomains", %q);
user_pref("network.proxy.no_proxies_on", %q);
user_pref("network.proxy.type", 1);
user_pref("network.proxy.http", "127.0.0.1");
user_pref("network.proxy.http_port", 9);
user_pref("network.proxy.ssl", "127.0.0.1");
user_pref("network.proxy.ssl_port", 9);
user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
`, host, host)
		if err := os.WriteFile(filepath.Join(profile, "user.js"), []byte(set), 0o600); err != nil {
			t.Fatal(err)
		}
		return exec.Command("firefox-esr", "--headless", "--no-remote", "--profile", profile, url)
	}},
}

// trust makes a store of roots with at most one in it.
func trust(t *testing.T, folder string, root *x509.Certificate) {
	t.Helper()
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	run := func(words ...string) {
		t.Helper()
		if out, err := exec.Command("certutil", append([]string{"-d", "sql:" + folder}, words...)...).CombinedOutput(); err != nil {
			t.Fatalf("certutil: %v %s", err, out)
		}
	}
	run("-N", "--empty-password")
	if root == nil {
		return
	}
	file := filepath.Join(folder, "root.der")
	if err := os.WriteFile(file, root.Raw, 0o600); err != nil {
		t.Fatal(err)
	}
	run("-A", "-t", "C,,", "-n", "evenwhite", "-i", file)
}

// What Chromium says on standard error of a certificate that it refuses.
var netError = regexp.MustCompile(`handshake failed.* net_error (-\d+)`)

// words are what a browser says: all of it, for who reads a test that failed, and why it
// refused a certificate.
type words struct {
	mu   sync.Mutex
	all  bytes.Buffer
	why  chan string
	told bool
}

func (w *words) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.all.Write(b)
	if found := netError.FindSubmatch(w.all.Bytes()); found != nil && !w.told {
		w.told = true
		w.why <- string(found[1])
	}
	return len(b), nil
}

// open starts the browser on a page; it is ended with the test.
func (b browser) open(t *testing.T, host, url string, root *x509.Certificate) *words {
	t.Helper()
	home, err := os.MkdirTemp("", "evenwhite-browser-")
	if err != nil {
		t.Fatal(err)
	}
	c := b.command(t, home, host, url, root)
	said := &words{why: make(chan string, 1)}
	c.Stdout, c.Stderr = said, said
	c.Env = append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME="+home, "XDG_CACHE_HOME="+home, "XDG_RUNTIME_DIR="+home)
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	c.WaitDelay = time.Second
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = syscall.Kill(-c.Process.Pid, syscall.SIGKILL) // with all processes that it started
		_ = c.Wait()
		_ = os.RemoveAll(home) // one that died last may still have written there
		if t.Failed() {
			t.Logf("%s said: %s", b.name, &said.all)
		}
	})
	return said
}

func needs(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		needed.Tool(t, p)
	}
}

//go:embed testdata/page.html
var page []byte

// A visited is a server for a browser. What its page finds out is said, and what a browser
// says in refusing a certificate is refused.
type visited struct {
	port    string
	said    chan map[string]any
	refused chan string
	leaves  sync.Map // which one was shown, by the address that called
}

// Write takes the lines that net/http logs.
func (v *visited) Write(line []byte) (int, error) {
	if _, why, ok := strings.Cut(string(line), "remote error: "); ok {
		select {
		case v.refused <- strings.TrimSpace(why):
		default: // one is enough
		}
	}
	return len(line), nil
}

func visit(t *testing.T, show func(*tls.ClientHelloInfo) (*tls.Certificate, error), renew func()) *visited {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	v := &visited{said: make(chan map[string]any, 9), refused: make(chan string, 1)}
	_, v.port, _ = net.SplitHostPort(l.Addr().String())
	mux := http.NewServeMux()
	mux.HandleFunc("GET /", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write(page)
	})
	mux.HandleFunc("GET /worker.js", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/javascript")
		_, _ = w.Write([]byte(`self.addEventListener("install", () => self.skipWaiting())`))
	})
	mux.HandleFunc("POST /renew", func(http.ResponseWriter, *http.Request) { renew() })
	mux.HandleFunc("GET /leaf", func(w http.ResponseWriter, r *http.Request) {
		leaf, _ := v.leaves.Load(r.RemoteAddr)
		w.Header().Set("Connection", "close") // the next request makes another, or takes one that was made before
		fmt.Fprint(w, leaf)
	})
	mux.HandleFunc("POST /said", func(w http.ResponseWriter, r *http.Request) {
		var what map[string]any
		if err := json.NewDecoder(r.Body).Decode(&what); err == nil {
			what["leaf"] = r.TLS.ServerName
			v.said <- what
		}
	})
	config := &tls.Config{SessionTicketsDisabled: true} // so that each connection looks at the leaf
	config.GetCertificate = func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
		c, err := show(hello)
		if err == nil {
			v.leaves.Store(hello.Conn.RemoteAddr().String(), c.Leaf.SerialNumber.String())
		}
		return c, err
	}
	server := &http.Server{Handler: mux, ErrorLog: log.New(v, "", 0), TLSConfig: config,
		TLSNextProto: map[string]func(*http.Server, *tls.Conn, http.Handler){}} // without HTTP/2 an answer can end its connection
	go func() { _ = server.ServeTLS(l, "", "") }()
	t.Cleanup(func() { _ = server.Close() })
	return v
}

func (v *visited) url(host string) string { return "https://" + net.JoinHostPort(host, v.port) + "/" }

// everything is what the page finds where the server is trusted.
var everything = map[string]any{
	"secure": true, "serviceWorker": "activated", "indexedDB": "kept", "wasm": 42.0, "key": false, "leaf": "set7.local", "again": "no",
}

func (v *visited) mustSay(t *testing.T, want map[string]any) {
	t.Helper()
	select {
	case got := <-v.said:
		if !reflect.DeepEqual(got, want) {
			t.Errorf("the page found %v, want %v", got, want)
		}
	case why := <-v.refused:
		t.Errorf("refused: %s", why)
	case <-time.After(patience):
		t.Error("the page said nothing")
	}
}

func (v *visited) mustBeRefused(t *testing.T, refused <-chan string, want string) {
	t.Helper()
	select {
	case got := <-v.said:
		t.Errorf("it was taken: %v", got)
	case why := <-refused:
		if !strings.HasSuffix(why, want) {
			t.Errorf("it was refused for %q, want %q", why, want)
		}
	case <-time.After(patience):
		t.Error("nobody came")
	}
}

func shown(c *tls.Certificate) func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	return func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return c, nil }
}

func TestBrowsersTakeTheServerUnderItsNameAlone(t *testing.T) {
	now := time.Now()
	a, err := Draw("set7.local", now)
	if err != nil {
		t.Fatal(err)
	}
	own, err := a.leaf(now, nil)
	if err != nil {
		t.Fatal(err)
	}
	stolen := *a
	stolen.host = "set8.local"
	foreign, err := stolen.leaf(now, nil)
	if err != nil {
		t.Fatal(err)
	}
	former, err := Draw("set7.local", now.Add(-LeafLife-2*backdated))
	if err != nil {
		t.Fatal(err)
	}
	past, err := former.leaf(now.Add(-LeafLife-2*backdated), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, host        string
		root              *x509.Certificate
		leaf              *tls.Certificate
		chromium, firefox string // how they refuse it; "" where they take it, "-" where it is not asked
	}{
		{"with its root", "set7.local", a.root, own, "", ""},
		{"without its root", "set7.local", nil, own, "-202", "unknown certificate authority"},
		{"a leaf for another name by the same authority", "set8.local", a.root, foreign, "-207", "bad certificate"},
		{"its leaf under another name", "set8.local", a.root, own, "-200", "-"}, // a start of Firefox takes seconds
		{"a leaf that ran out", "set7.local", former.root, past, "-201", "-"},
	} {
		for i, want := range []string{c.chromium, c.firefox} {
			if want == "-" {
				continue
			}
			b := browsers[i]
			t.Run(b.name+" "+c.name, func(t *testing.T) {
				needs(t, b.program, "certutil")
				v := visit(t, shown(c.leaf), nil)
				words := b.open(t, c.host, v.url(c.host), c.root)
				if want == "" {
					v.mustSay(t, everything)
					return
				}
				refused := v.refused // Firefox tells the server why
				if b.program == "chromium" {
					refused = words.why // by the numbers of its list of errors: ERR_CERT_AUTHORITY_INVALID is -202
				}
				v.mustBeRefused(t, refused, want)
			})
		}
	}
}

func TestALeafIsRenewedWhileAPageIsOpen(t *testing.T) {
	for _, b := range browsers {
		t.Run(b.name, func(t *testing.T) {
			needs(t, b.program, "certutil")
			// The browser's clock is the machine's: the server's is behind at first, and then right.
			now := time.Now().Add(-LeafLife + 3*backdated)
			a, err := Draw("set7.local", now)
			if err != nil {
				t.Fatal(err)
			}
			l, err := a.Leaves(func() time.Time { return now }, nil)
			if err != nil {
				t.Fatal(err)
			}
			v := visit(t, l.GetCertificate, func() {
				l.mu.Lock()
				defer l.mu.Unlock()
				now = time.Now()
			})
			b.open(t, "set7.local", v.url("set7.local")+"?again", a.root)
			want := maps.Clone(everything)
			want["again"] = "by another leaf"
			v.mustSay(t, want)
		})
	}
}
