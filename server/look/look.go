package look

import (
	"bytes"
	_ "embed"
	"fmt"
	"hash/crc32"
	"html/template"
	"mime"
	"net/http"
	"path"
	"time"

	"evenwhite/api/door"
)

// StylePath is where a page finds the style sheet.
const StylePath = "/look.css"

// Style is the style sheet of all pages.
//
//go:embed look.css
var Style []byte

// Page writes a page made from a template. Its policy is the server's, unless another is given.
func Page(w http.ResponseWriter, r *http.Request, t *template.Template, of any, policy string) {
	var text bytes.Buffer
	if err := t.Execute(&text, of); err != nil {
		http.Error(w, "the page could not be made", http.StatusInternalServerError)
		return
	}
	door.SetHeaders(w.Header())
	if policy != "" {
		w.Header().Set("Content-Security-Policy", policy)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(text.Bytes()))
}

// File writes a file that a page needs, by the ending of its name.
func File(w http.ResponseWriter, r *http.Request, name string, body []byte) {
	door.SetHeaders(w.Header())
	if w.Header().Get("Content-Type") == "" {
		w.Header().Set("Content-Type", mime.TypeByExtension(path.Ext(name)))
	}
	w.Header().Set("Cache-Control", "no-cache")
	w.Header().Set("ETag", fmt.Sprintf(`"%08x"`, crc32.ChecksumIEEE(body)))
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(body))
}
