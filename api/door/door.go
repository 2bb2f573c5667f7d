package door

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"
)

var (
	// ErrHost refuses a request that calls the server by a name that it does not have.
	ErrHost = errors.New("this server is not called so")
	// ErrSite refuses a change that a browser sends for a page of another site.
	ErrSite = errors.New("a page of another site may change nothing here")
)

// Called returns ErrHost unless the request calls the server by one of its names, by an
// address, or from this machine by localhost. A site whose name was turned to this server's
// address (DNS rebinding) is refused so; an address cannot be turned. Of addresses, public
// ones must be that by which the request came in.
func Called(r *http.Request, names []string) error {
	name := NameIn(r.Host)
	if slices.ContainsFunc(names, func(own string) bool { return strings.EqualFold(own, name) }) {
		return nil
	}
	if strings.EqualFold(name, "localhost") && AtMachine(r) {
		return nil
	}
	if ip, err := netip.ParseAddr(name); err == nil {
		ip = ip.Unmap()
		if ip.IsPrivate() || ip.IsLoopback() || ip.IsLinkLocalUnicast() || ip.WithZone("") == localOf(r) {
			return nil
		}
	}
	return fmt.Errorf("%w: %q", ErrHost, shortened(r.Host))
}

// NameIn is the name or address in a Host, without its port.
func NameIn(host string) string {
	name := host
	if before, _, err := net.SplitHostPort(host); err == nil {
		name = before
	}
	return strings.TrimSuffix(strings.Trim(name, "[]"), ".")
}

// AtMachine reports whether the request came in over the loopback interface.
func AtMachine(r *http.Request) bool {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && from.Addr().Unmap().IsLoopback() && localOf(r).IsLoopback()
}

// localOf is the address of this machine by which a request came in, or none.
func localOf(r *http.Request) netip.Addr {
	if to, ok := r.Context().Value(http.LocalAddrContextKey).(*net.TCPAddr); ok {
		return to.AddrPort().Addr().Unmap().WithZone("")
	}
	return netip.Addr{}
}

// SameSite returns ErrSite for a change that a browser says it sends for another site's page.
// What is no browser says nothing of this, and is judged by its token alone. The standard
// library's CrossOriginProtection believes the one header where the other contradicts it,
// and takes http and https of one name for one site.
func SameSite(r *http.Request) error {
	if r.Method == http.MethodGet || r.Method == http.MethodHead || r.Method == http.MethodOptions {
		return nil
	}
	switch site := r.Header.Get("Sec-Fetch-Site"); site {
	case "", "same-origin", "none":
	default:
		return fmt.Errorf("%w: Sec-Fetch-Site is %q", ErrSite, shortened(site))
	}
	for _, origin := range r.Header.Values("Origin") {
		if !strings.EqualFold(origin, originOf(r)) {
			return fmt.Errorf("%w: Origin is %q", ErrSite, shortened(origin))
		}
	}
	return nil
}

// originOf is the origin that a page of this server has where it is called as r calls it.
func originOf(r *http.Request) string {
	u := url.URL{Scheme: "http", Host: r.Host}
	if r.TLS != nil {
		u.Scheme = "https"
	}
	u.Host = strings.TrimSuffix(u.Host, map[string]string{"http": ":80", "https": ":443"}[u.Scheme])
	return u.String()
}

// shortened keeps what came from outside short where it is repeated to the sender.
func shortened(s string) string {
	if len(s) <= 80 {
		return s
	}
	return strings.ToValidUTF8(s[:80], "") + "…"
}
