package desk

import (
	"context"
	"encoding/json"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// asked asks a handler over an address of this machine, from another.
func asked(h http.Handler, from, method, host, path, body string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Host, r.RemoteAddr = host, net.JoinHostPort(from, "51000")
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	local := "127.0.0.1"
	if from != local {
		local = "192.168.7.2"
	}
	r = r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, &net.TCPAddr{IP: net.ParseIP(local), Port: 8480}))
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

const here, elsewhere = "127.0.0.1", "192.168.7.20"

// someSite is a site whose contract says who sits.
func someSite(now func() time.Time) (Site, http.Handler) {
	seats := NewSeats(now)
	contract := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !seats.Sits(r) {
			w.WriteHeader(http.StatusUnauthorized)
		}
	})
	s := Site{Name: "set7.local", Origin: "https://set7.local:8443", Names: []string{"set7.local"}, Seats: seats, Contract: contract,
		TrustPages: func() []string { return []string{"http://192.168.7.2:8480"} },
		Around:     func() (http.Handler, error) { return http.NotFoundHandler(), nil }}
	return s, s.Handler()
}

// sit changes a ticket for a seat, as a header shows it.
func sit(t *testing.T, h http.Handler, ticket string) string {
	t.Helper()
	w := asked(h, here, "POST", "127.0.0.1:8480", "/desk/seat", `{"ticket":"`+ticket+`"}`)
	var said struct{ Seat string }
	if err := json.Unmarshal(w.Body.Bytes(), &said); err != nil || w.Code != 200 || said.Seat == "" {
		t.Fatalf("got %d %s (%v), want a seat", w.Code, w.Body, err)
	}
	return "Desk " + said.Seat
}

func TestATicketBuysOneSeatAtTheMachine(t *testing.T) {
	at := time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)
	s, h := someSite(func() time.Time { return at })
	ticket := s.Seats.Ticket()
	for _, c := range []struct {
		name, from, host, said string
		headers                []string
		status                 int
	}{
		{"from elsewhere", elsewhere, "192.168.7.2:8480", ticket, nil, 403},
		{"a page of another site", here, "127.0.0.1:8480", ticket, []string{"Origin", "https://example.org"}, 403},
		{"a site whose name was turned here", here, "rebound.example.org:8480", ticket, nil, 421},
		{"another port of this machine", here, "127.0.0.1:8480", ticket, []string{"Origin", "http://127.0.0.1:9999", "Sec-Fetch-Site", "same-site"}, 403},
		{"a guess", here, "127.0.0.1:8480", ticket[1:] + "A", nil, 403},
		{"nothing", here, "127.0.0.1:8480", "", nil, 403},
	} {
		if w := asked(h, c.from, "POST", c.host, "/desk/seat", `{"ticket":"`+c.said+`"}`, c.headers...); w.Code != c.status {
			t.Errorf("%s: got %d %s, want %d", c.name, w.Code, w.Body, c.status)
		}
	}
	seat := sit(t, h, ticket)
	if w := asked(h, here, "POST", "127.0.0.1:8480", "/desk/seat", `{"ticket":"`+ticket+`"}`); w.Code != 403 {
		t.Errorf("the ticket again: got %d", w.Code)
	}
	if w := asked(h, here, "GET", "127.0.0.1:8480", "/v1/devices", "", "Authorization", seat); w.Code != 200 {
		t.Errorf("from the seat: got %d", w.Code)
	}
	for name, from := range map[string]string{"the seat from elsewhere": elsewhere, "no seat": here} {
		shown := seat
		if from == here {
			shown = "Desk " + ticket
		}
		if w := asked(h, from, "GET", "192.168.7.2:8480", "/v1/devices", "", "Authorization", shown); w.Code != 401 {
			t.Errorf("%s: got %d", name, w.Code)
		}
	}
	at = at.Add(seatLife)
	if w := asked(h, here, "GET", "127.0.0.1:8480", "/v1/devices", "", "Authorization", seat); w.Code != 401 {
		t.Errorf("after its time: got %d", w.Code)
	}
	late := s.Seats.Ticket()
	at = at.Add(TicketLife)
	if w := asked(h, here, "POST", "127.0.0.1:8480", "/desk/seat", `{"ticket":"`+late+`"}`); w.Code != 403 {
		t.Errorf("a ticket after its time: got %d", w.Code)
	}
}

func TestTheOldestSeatIsGivenUpForANewOne(t *testing.T) {
	s, h := someSite(time.Now)
	first := sit(t, h, s.Seats.Ticket())
	for range most {
		sit(t, h, s.Seats.Ticket())
	}
	if w := asked(h, here, "GET", "127.0.0.1:8480", "/v1/devices", "", "Authorization", first); w.Code != 401 || len(s.Seats.held) != most {
		t.Errorf("got %d, and %d seats are held; want 401, %d", w.Code, len(s.Seats.held), most)
	}
}

func TestOnlyWhoSitsHasCodesDrawn(t *testing.T) {
	s, h := someSite(time.Now)
	const link = "https://set7.local:8443/pair#Zk3v9dQx0p4Jr7TqYw2LbA"
	if w := asked(h, here, "POST", "127.0.0.1:8480", "/desk/qr", link); w.Code != 401 {
		t.Errorf("without a seat: got %d", w.Code)
	}
	w := asked(h, here, "POST", "127.0.0.1:8480", "/desk/qr", link, "Authorization", sit(t, h, s.Seats.Ticket()))
	if w.Code != 200 || w.Header().Get("Content-Type") != "image/svg+xml" || !strings.HasPrefix(w.Body.String(), "<svg") {
		t.Errorf("got %d %v %s", w.Code, w.Header(), w.Body)
	}
}

func TestPagesStandBesideTheContract(t *testing.T) {
	_, h := someSite(time.Now)
	for _, path := range []string{"/", "/pair", "/g", "/look-around", "/desk.js", "/look.css"} {
		for _, from := range []string{here, elsewhere} {
			host := "set7.local:8443"
			w := asked(h, from, "GET", host, path, "")
			if w.Code != 200 || !strings.HasPrefix(w.Header().Get("Content-Security-Policy"), "default-src 'none'; script-src 'self'") {
				t.Errorf("%s: got %d %v", path, w.Code, w.Header())
			}
			if text := w.Body.String(); strings.Contains(text, " style=") || strings.Contains(text, "<style") || strings.Contains(text, " onclick") {
				t.Errorf("%s holds what the policy keeps from running", path)
			}
		}
		if w := asked(h, here, "GET", "rebound.example.org", path, ""); w.Code != 421 || w.Header().Get("Location") != "" {
			t.Errorf("%s under another name: got %d %v", path, w.Code, w.Header())
		}
	}
	if w := asked(h, elsewhere, "GET", "set7.local", "/v1/devices", ""); w.Code != 401 {
		t.Errorf("what is no page: got %d, want the answer of the contract", w.Code)
	}
	if w := asked(h, elsewhere, "GET", "set7.local", "/", ""); strings.Contains(w.Body.String(), "You are at the machine") {
		t.Error("who is elsewhere is told to be at the machine")
	}
}
