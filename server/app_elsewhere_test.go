package main

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/server/browsertest"
)

// A wentOn is what a phone made of a day on which its server was ended.
type wentOn struct {
	Takes, Edits []string
	State, By    string
	Count        int
	Said         string
}

// A brokenServer is one that a script ends and starts again, with all that it kept.
type brokenServer struct {
	*testing.T
	data string
	is   pagesSite
	ask  caller
}

func breakable(t *testing.T) (b *brokenServer, control *httptest.Server) {
	t.Helper()
	b = &brokenServer{T: t, data: filepath.Join(t.TempDir(), "data")}
	b.is = servePagesIn(t, b.data, "--demo")
	control = httptest.NewServer(b)
	t.Cleanup(control.Close)
	return b, control
}

func (b *brokenServer) ServeHTTP(_ http.ResponseWriter, r *http.Request) {
	if r.URL.Path == "/again" {
		b.again()
		return
	}
	var said struct{ Token string }
	if err := json.NewDecoder(r.Body).Decode(&said); err != nil {
		b.Error(err)
	}
	b.ask.token = said.Token
	b.is.end(os.Kill)
}

func (b *brokenServer) again() {
	b.is = servePagesIn(b.T, b.data)
	b.ask.T, b.ask.url = b.T, b.is.url()
}

// check looks that what the phone made without a server stands there once, each edit and each take.
func (b *brokenServer) check(out wentOn) {
	b.Helper()
	if len(out.Takes) != 6 || out.State != "here" || out.Count == 0 {
		b.Errorf("without a server it said %+v", out)
	}
	if out.By != "2nd AC" || !strings.Contains(out.Said, "All sent") {
		b.Errorf("it came back with %+v", out)
	}
	b.ask.heldOnce(out.Takes, out.Edits)
}

// A phone with Firefox pairs by a code and logs takes; the server is killed; it logs more, opens the app again, and is
// killed itself; it and the server come back.
func TestAPhoneWithFirefoxGoesOnThroughTheEndOfServerAndPhone(t *testing.T) {
	t.Parallel()
	b, control := breakable(t)
	args := map[string]string{"origin": b.is.origin, "day": appDay(t, b.is), "code": b.is.code, "control": control.URL, "part": "out"}
	firefox := browsertest.Browser{Engine: browsertest.Firefox, Trusts: b.is.root(t), Hosts: "set7.local", Home: t.TempDir(), Kill: true}
	var out wentOn
	firefox.Run(t, "../testdata/browser/elsewhere.mjs", args, &out)
	b.again()
	args["part"], firefox.Kill = "back", false
	firefox.Run(t, "../testdata/browser/elsewhere.mjs", args, &out)
	b.check(out)
}

// A phone with WebKit does the same, but is not killed: what drives WebKitGTK keeps nothing once the browser is closed.
func TestAPhoneWithWebKitGoesOnThroughTheEndOfItsServer(t *testing.T) {
	t.Parallel()
	b, control := breakable(t)
	args := map[string]string{"origin": b.is.origin, "day": appDay(t, b.is), "code": b.is.code, "control": control.URL, "part": "all"}
	var out wentOn
	webkit := browsertest.Browser{Engine: browsertest.WebKit, Trusts: b.is.root(t), Hosts: "set7.local"}
	webkit.Run(t, "../testdata/browser/elsewhere.mjs", args, &out)
	b.check(out)
}
