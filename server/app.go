package main

import (
	"net/http"
	"slices"
	"strings"

	"evenwhite/api/door"
	webapp "evenwhite/server/phone"
)

// appPath is where the app is at the machine itself, beside the desk.
const appPath = "/app/"

// appAddress is where a browser finds the app of this server.
func (h *host) appAddress() string {
	if h.listen != "" {
		return h.at.url() + appPath
	}
	return h.origin.String() + "/"
}

// withApp answers with the phone app: under the name by which phones know the server, and at the
// machine at appPath. By an address alone there is none, for a browser keeps what was logged by name.
func (h *host) withApp(app webapp.App, rest http.Handler) http.Handler {
	names := h.names()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			rest.ServeHTTP(w, r)
			return
		}
		name := door.NameIn(r.Host)
		own := func(n string) bool { return strings.EqualFold(n, name) }
		file, within := strings.CutPrefix(r.URL.Path, appPath)
		switch {
		case slices.ContainsFunc(names, own) && app.Has(strings.TrimPrefix(r.URL.Path, "/")):
			app.ServeHTTP(w, r)
		case within && door.AtMachine(r) && door.Called(r, names) == nil && app.Has(file):
			http.StripPrefix(strings.TrimSuffix(appPath, "/"), app).ServeHTTP(w, r)
		default:
			rest.ServeHTTP(w, r)
		}
	})
}
