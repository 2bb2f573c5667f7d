package trust

import (
	_ "embed"
	"encoding/pem"
	"html/template"
	"maps"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenwhite/api/door"
	"evenwhite/server/look"
)

// A Site is a server as somebody sees it who does not trust it yet.
type Site struct {
	Name   string // by which it is found, such as set7.local
	Origin string // under which it is trusted, such as https://set7.local:8443
	Port   int    // where these pages are served

	Root        []byte    // certificate in DER; nil: the certificate comes from elsewhere
	Fingerprint string    // of the root, in groups
	Until       time.Time // when the root runs out

	Own func() []netip.Addr // this machine's addresses now
}

// The addresses of what is served.
const (
	pagePath    = "/"
	scriptPath  = "/trust.js"
	healthPath  = "/healthz"
	derPath     = "/root.crt"
	pemPath     = "/root.pem"
	profilePath = "/root.mobileconfig"
)

// usualPort is that of plain HTTP.
const usualPort = 80

//go:embed trust.js
var script []byte

//go:embed trust.html
var text string

var page = template.Must(template.New("trust").Parse(text))

// Handler serves the site's pages. What it does not have is 404, and another name 421; it
// redirects nobody.
func (s Site) Handler() http.Handler {
	served := map[string]http.HandlerFunc{
		pagePath: s.servePage, scriptPath: file("trust.js", script), look.StylePath: file("look.css", look.Style),
		healthPath: s.Health(http.HandlerFunc(healthy)).ServeHTTP,
	}
	maps.Copy(served, s.roots())
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		door.SetHeaders(w.Header())
		serve := served[r.URL.Path]
		switch {
		case door.Called(r, []string{s.Name}) != nil:
			http.Error(w, "This server is called "+s.Name+".", http.StatusMisdirectedRequest)
		case serve == nil:
			http.Error(w, "Here is the trust page alone. All else is at "+s.Origin, http.StatusNotFound)
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "It can be read, and not changed.", http.StatusMethodNotAllowed)
		default:
			serve(w, r)
		}
	})
}

// roots are the root certificate in its forms.
func (s Site) roots() map[string]http.HandlerFunc {
	if s.Root == nil {
		return nil
	}
	return map[string]http.HandlerFunc{
		derPath:     s.download("application/x-x509-ca-cert", ".crt", s.Root),
		pemPath:     s.download("application/x-pem-file", ".pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: s.Root})),
		profilePath: s.download("application/x-apple-aspen-config", ".mobileconfig", s.profile()),
	}
}

// WithRoots gives the root certificate in its forms, and everything else to next.
func (s Site) WithRoots(next http.Handler) http.Handler {
	served := s.roots()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if serve := served[r.URL.Path]; serve != nil && r.Method == http.MethodGet {
			serve(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func file(name string, body []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) { look.File(w, r, name, body) }
}

func (s Site) download(media, ending string, body []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", media)
		w.Header().Set("Content-Disposition", "attachment; filename="+s.fileName(ending))
		look.File(w, r, ending, body)
	}
}

// fileName tells the roots of several servers apart in a folder of downloads.
func (s Site) fileName(ending string) string {
	name, _, _ := strings.Cut(s.Name, ".")
	return "evenwhite-" + name + ending
}

// plainHealth is where a phone asks whether it finds the name.
func (s Site) plainHealth() string {
	return "http://" + net.JoinHostPort(s.Name, strconv.Itoa(s.Port)) + healthPath
}

func (s Site) servePage(w http.ResponseWriter, r *http.Request) {
	var groups []string
	if s.Fingerprint != "" {
		groups = strings.Fields(s.Fingerprint)
	}
	look.Page(w, r, page, map[string]any{
		"Name": s.Name, "Origin": s.Origin, "PlainHealth": s.plainHealth(), "SecureHealth": s.Origin + healthPath,
		"Root": s.Root != nil, "Groups": groups, "Until": s.Until.Format("2 January 2006"),
		"File": s.fileName(""), "DER": derPath, "PEM": pemPath, "Profile": profilePath, "Script": scriptPath, "Style": look.StylePath,
	}, s.policy())
}

// policy lets the page ask whether name and certificate do, and nothing else.
func (s Site) policy() string {
	return "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; " +
		"connect-src " + s.plainHealth() + " " + s.Origin + healthPath +
		"; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
}

// Health lets the trust page of this very server, and no other page, read the answer of next at
// /healthz: a page that may read it has found this server, and not another of the name.
func (s Site) Health(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == healthPath {
			w.Header().Add("Vary", "Origin")
			if origin := r.Header.Get("Origin"); s.isOwn(origin) {
				w.Header().Set("Access-Control-Allow-Origin", origin)
			}
		}
		next.ServeHTTP(w, r)
	})
}

// isOwn reports whether an origin is that of the trust page by one of this machine's addresses.
func (s Site) isOwn(origin string) bool {
	host, ok := strings.CutPrefix(origin, "http://")
	if !ok {
		return false
	}
	if s.Port == usualPort {
		host += ":" + strconv.Itoa(usualPort) // which browsers leave out
	}
	at, err := netip.ParseAddrPort(host)
	return err == nil && int(at.Port()) == s.Port && slices.Contains(s.Own(), at.Addr().Unmap())
}

func healthy(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write([]byte(`{"status":"ok"}`))
}
