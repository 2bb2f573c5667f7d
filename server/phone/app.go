package phone

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"regexp"
	"strings"
	"time"

	"evenwhite/api/door"
	"evenwhite/logbook/picture"
)

// built holds what make app built: each file, and beside it, where that is smaller, the same
// packed (.gz, .br). Before that it holds a placeholder alone.
//
//go:embed all:dist
var built embed.FS

// HowToBuild is said where the program was built without the app.
const HowToBuild = "the phone app is not in this program: make app builds it, and then the program must be built anew"

const indexPage = "index.html"

// pages are the addresses that open the app, beside those of its files.
var pages = map[string]bool{"": true, "pair": true, indexPage: true}

// An App answers with the files of the app.
type App struct {
	files  fs.FS
	policy string
}

// Open finds the app in the program; ok is false where it was built without.
func Open() (a App, ok bool) {
	files, err := fs.Sub(built, "dist")
	if err != nil {
		panic(err) // the folder is embedded
	}
	return in(files)
}

// in finds the app in a folder.
func in(files fs.FS) (App, bool) {
	page, err := fs.ReadFile(files, indexPage)
	if err != nil {
		return App{}, false
	}
	return App{files, policyOf(page)}, true
}

var firstStyle = regexp.MustCompile(`(?s)<style>(.*?)</style>`)

// policyOf is the server's policy, with the one style that stands in the page itself, so that a
// dark stage sees no white flash, and that of the engine's pictures.
func policyOf(page []byte) string {
	sources := "style-src 'self' " + picture.StyleSource
	if found := firstStyle.FindSubmatch(page); found != nil {
		sum := sha256.Sum256(found[1])
		sources += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return strings.Replace(door.Policy, "style-src 'self'", sources, 1)
}

// Has reports whether an address, without the slash that it begins with, is the app's.
func (a App) Has(name string) bool {
	if pages[name] {
		return true
	}
	if packed := path.Ext(name); packed == ".gz" || packed == ".br" || name == "placeholder" || !fs.ValidPath(name) {
		return false
	}
	info, err := fs.Stat(a.files, name)
	return err == nil && !info.IsDir()
}

// ServeHTTP answers with a file. Its address must be one that the app has.
func (a App) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, "/")
	if !a.Has(name) {
		http.NotFound(w, r)
		return
	}
	if pages[name] {
		name = indexPage
	}
	body, packing, err := a.read(name, r.Header.Get("Accept-Encoding"))
	if err != nil {
		http.Error(w, "the file could not be read", http.StatusInternalServerError)
		return
	}
	h := w.Header()
	door.SetHeaders(h)
	h.Set("Content-Security-Policy", a.policy)
	h.Set("Content-Type", typeOf(name))
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache")
	if strings.HasPrefix(name, "assets/") { // its name holds the hash of what is in it
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	sum := sha256.Sum256(body)
	h.Set("ETag", fmt.Sprintf(`"%x"`, sum[:12]))
	if packing != "" {
		h.Set("Content-Encoding", packing)
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(body))
}

// typeOf is a content type by the ending. The tables of systems differ, and a module of another
// type is not run.
func typeOf(name string) string {
	switch ending := path.Ext(name); ending {
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".wasm":
		return "application/wasm"
	case ".webmanifest":
		return "application/manifest+json"
	default:
		return mime.TypeByExtension(ending)
	}
}

// packings are what a file may be packed with, the smallest first.
var packings = []struct{ name, ending string }{{"br", ".br"}, {"gzip", ".gz"}}

// read reads a file in the smallest form that the asker takes.
func (a App) read(name, accepted string) (body []byte, packing string, err error) {
	for _, p := range packings {
		if takes(accepted, p.name) {
			if body, err = fs.ReadFile(a.files, name+p.ending); err == nil {
				return body, p.name, nil
			}
		}
	}
	body, err = fs.ReadFile(a.files, name)
	return body, "", err
}

// takes reports whether a browser takes a packing (RFC 9110, section 12.5.3).
func takes(accepted, packing string) bool {
	for part := range strings.SplitSeq(accepted, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.EqualFold(strings.TrimSpace(name), packing) {
			weight = strings.ReplaceAll(weight, " ", "")
			return strings.Trim(strings.TrimPrefix(weight, "q="), "0.") != "" || weight == ""
		}
	}
	return false
}
