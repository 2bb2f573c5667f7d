package door

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"testing"
)

// asked is a request as it comes in over the network by an address of this machine.
func asked(method, host, local, remote string) *http.Request {
	r := httptest.NewRequest(method, "/", nil)
	r.Host, r.RemoteAddr = host, net.JoinHostPort(remote, "51000")
	at := &net.TCPAddr{IP: net.ParseIP(local), Port: 8480}
	return r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, at))
}

func TestAServerIsCalledByItsOwnNamesAndByAddresses(t *testing.T) {
	for _, c := range []struct {
		name, host, remote string
		heard              bool
	}{
		{"its name and port", "set7.local:8443", "192.168.7.20", true},
		{"its name alone", "set7.local", "192.168.7.20", true},
		{"its name in capitals", "SET7.LOCAL:8443", "192.168.7.20", true},
		{"its name with the dot of the root", "set7.local.:8443", "192.168.7.20", true},
		{"an address on the set", "192.168.7.2:8480", "192.168.7.20", true},
		{"another private one, as a container's host has", "10.1.2.3:8480", "192.168.7.20", true},
		{"an address of IPv6", "[fd00::7]:8480", "192.168.7.20", true},
		{"localhost, at the machine", "localhost:8480", "127.0.0.1", true},
		{"loopback, at the machine", "127.0.0.1:8480", "127.0.0.1", true},

		{"another name", "set8.local:8443", "192.168.7.20", false},
		{"a name below its own", "a.set7.local", "192.168.7.20", false},
		{"a name that begins alike", "set7.local.example.org", "192.168.7.20", false},
		{"a site turned to the machine", "rebound.example.org:8480", "127.0.0.1", false},
		{"localhost, from elsewhere", "localhost:8480", "192.168.7.20", false},
		{"a public address", "8.8.8.8", "192.168.7.20", false},
		{"nothing", "", "192.168.7.20", false},
		{"an address with something behind it", "192.168.7.2.example.org", "192.168.7.20", false},
	} {
		local := "192.168.7.2"
		if c.remote == "127.0.0.1" {
			local = c.remote
		}
		if err := Called(asked("GET", c.host, local, c.remote), []string{"set7.local"}); errors.Is(err, ErrHost) == c.heard {
			t.Errorf("%s (%q from %s): got %v, want it heard: %v", c.name, c.host, c.remote, err, c.heard)
		}
	}
	if err := Called(asked("GET", "203.0.113.9:8480", "203.0.113.9", "203.0.113.50"), nil); err != nil {
		t.Errorf("the public address by which it came in: got %v", err)
	}
}

func TestAChangeComesFromNoOtherSitesPage(t *testing.T) {
	const host, own = "set7.local:8443", "https://set7.local:8443"
	for _, c := range []struct {
		name, site, origin string
		heard              bool
	}{
		{"no browser", "", "", true},
		{"a page of its own", "same-origin", own, true},
		{"a browser that sends no Sec-Fetch-Site", "", own, true},
		{"typed by a person", "none", "", true},

		{"another site", "cross-site", "https://example.org", false},
		{"another site that a browser does not name", "cross-site", "", false},
		{"a sister name", "same-site", "https://set8.local:8443", false},
		{"a sister name that a browser does not name", "same-site", "", false},
		{"another site, of a browser that sends Origin alone", "", "https://example.org", false},
		{"a page from a file, or of a frame that may do nothing", "", "null", false},
		{"the same name, plain", "", "http://set7.local:8443", false},
		{"the same name at another port", "", "https://set7.local:9443", false},
		{"headers that contradict each other", "same-origin", "https://example.org", false},
		{"a word that is none", "same-planet", own, false},
	} {
		for _, method := range []string{"POST", "PUT", "PATCH", "DELETE", "INVENTED"} {
			r := asked(method, host, "192.168.7.2", "192.168.7.20")
			r.TLS = &tls.ConnectionState{}
			for name, value := range map[string]string{"Sec-Fetch-Site": c.site, "Origin": c.origin} {
				if value != "" {
					r.Header.Set(name, value)
				}
			}
			if err := SameSite(r); errors.Is(err, ErrSite) == c.heard {
				t.Errorf("%s, %s: got %v, want it heard: %v", c.name, method, err, c.heard)
			}
			r.Method = "GET"
			if err := SameSite(r); err != nil {
				t.Errorf("%s, reading: got %v", c.name, err)
			}
		}
	}
}

func TestThePortThatASchemeImpliesIsNoOther(t *testing.T) {
	r := asked("POST", "set7.local:443", "192.168.7.2", "192.168.7.20")
	r.TLS = &tls.ConnectionState{}
	r.Header.Set("Origin", "https://set7.local")
	if err := SameSite(r); err != nil {
		t.Error(err)
	}
}

func TestEveryAnswerCarriesThePolicyAndNoCallForHTTPSAlone(t *testing.T) {
	h := http.Header{}
	SetHeaders(h)
	if h.Get("Content-Security-Policy") != Policy || h.Get("X-Content-Type-Options") != "nosniff" ||
		h.Get("Referrer-Policy") != "no-referrer" || h.Get("Strict-Transport-Security") != "" {
		t.Errorf("got %v", h)
	}
}
