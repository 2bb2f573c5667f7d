package desk

import (
	_ "embed"
	"encoding/json"
	"errors"
	"html/template"
	"io"
	"net/http"
	"strings"
	"sync"

	"evenwhite/api/door"
	"evenwhite/server/look"
	"evenwhite/server/qr"
)

// A Site is a server as its pages tell of it.
type Site struct {
	Name        string // by which it is found, such as set7.local; "": it has none
	Origin      string // under which phones know it
	Names       []string
	Fingerprint string          // of its root certificate, in groups; "": it has none of its own
	TrustPages  func() []string // where a phone begins, by each address
	Seats       *Seats
	App         string // where the phone app is at the machine; "": the program has none
	// Contract answers all that is no page.
	Contract http.Handler
	// Around makes the contract of an invented production, which anybody may read.
	Around func() (http.Handler, error)
}

// The addresses of the pages and of what they need.
const (
	homePath   = "/"
	pairPath   = "/pair"
	sharedPath = "/g"
	aroundPath = "/look-around"
	scriptPath = "/desk.js"
	seatPath   = "/desk/seat"
	codePath   = "/desk/qr"
)

var (
	//go:embed desk.html
	text string
	//go:embed desk.js
	script []byte

	page = template.Must(template.New("desk").Parse(text))
)

// Handler serves the pages, and gives everything else to the contract.
func (s Site) Handler() http.Handler {
	around := sync.OnceValues(s.Around)
	served := map[string]http.HandlerFunc{
		"GET " + homePath:       s.servePage("home"),
		"GET " + pairPath:       s.servePage("pair"),
		"GET " + sharedPath:     s.servePage("shared"),
		"GET " + aroundPath:     s.servePage("around"),
		"GET " + scriptPath:     file("desk.js", script),
		"GET " + look.StylePath: file("look.css", look.Style),
		"POST " + seatPath:      s.sit,
		"POST " + codePath:      s.drawCode,
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		method := r.Method
		if method == http.MethodHead {
			method = http.MethodGet
		}
		serve := served[method+" "+r.URL.Path]
		if strings.HasPrefix(r.URL.Path, aroundPath+"/") {
			serve = lookAround(around)
		}
		if serve == nil {
			s.Contract.ServeHTTP(w, r)
			return
		}
		door.SetHeaders(w.Header())
		if err := door.Called(r, s.Names); err != nil {
			refuse(w, http.StatusMisdirectedRequest, err)
			return
		}
		if err := door.SameSite(r); err != nil {
			refuse(w, http.StatusForbidden, err)
			return
		}
		serve(w, r)
	})
}

func file(name string, body []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) { look.File(w, r, name, body) }
}

// refuse says why, as the contract does (RFC 9457).
func refuse(w http.ResponseWriter, status int, why error) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]any{"type": "about:blank", "title": http.StatusText(status), "status": status,
		"detail": why.Error()})
}

// servePage writes one of the pages. None of them holds anything of a production: that is
// asked for by a script that was let in.
func (s Site) servePage(which string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		trust := s.TrustPages()
		code := ""
		if len(trust) > 0 {
			code, _ = qr.SVG(trust[0], "QR code of "+trust[0]) // the address stands beside it
		}
		look.Page(w, r, page, map[string]any{
			"Page": which, "AtMachine": door.AtMachine(r), "Name": s.Name, "Origin": s.Origin,
			"Groups": strings.Fields(s.Fingerprint), "Trust": trust, "Code": template.HTML(code),
			"Script": scriptPath, "Style": look.StylePath, "Around": aroundPath, "App": s.App,
		}, "")
	}
}

// mostAsked bounds what a page sends here.
const mostAsked = 4 << 10

// sit gives a seat for a ticket. Who is elsewhere is not asked for one.
func (s Site) sit(w http.ResponseWriter, r *http.Request) {
	var said struct{ Ticket string }
	if !door.AtMachine(r) {
		refuse(w, http.StatusForbidden, errors.New("a seat is only at the machine itself"))
		return
	}
	if err := json.NewDecoder(io.LimitReader(r.Body, mostAsked)).Decode(&said); err != nil {
		refuse(w, http.StatusBadRequest, err)
		return
	}
	seat, until, err := s.Seats.Sit(said.Ticket)
	if err != nil {
		refuse(w, http.StatusForbidden, err)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	_ = json.NewEncoder(w).Encode(map[string]any{"seat": seat, "until": until})
}

// drawCode draws an address that must stand in no log as a QR code.
func (s Site) drawCode(w http.ResponseWriter, r *http.Request) {
	if !s.Seats.Sits(r) {
		refuse(w, http.StatusUnauthorized, errors.New("this is for who sits at the machine"))
		return
	}
	text, err := io.ReadAll(io.LimitReader(r.Body, mostAsked))
	if err == nil {
		var drawn string
		if drawn, err = qr.SVG(string(text), "QR code of the invitation"); err == nil {
			w.Header().Set("Cache-Control", "no-store")
			w.Header().Set("Content-Type", "image/svg+xml")
			_, _ = io.WriteString(w, drawn)
			return
		}
	}
	refuse(w, http.StatusBadRequest, err)
}

// lookAround answers of the invented production what reading asks.
func lookAround(around func() (http.Handler, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		invented, err := around()
		if err != nil {
			refuse(w, http.StatusServiceUnavailable, errors.New("the invented production could not be made"))
			return
		}
		http.StripPrefix(aroundPath, invented).ServeHTTP(w, r)
	}
}
