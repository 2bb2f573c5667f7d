package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/api/pairing/prooftest"
	"evenwhite/logbook"
)

// A hub is a real server process and the devices that were admitted to it.
type hub struct {
	t          testing.TB
	folder     string
	options    []string // of evenwhite serve, beside where
	env        []string // beside that of the test
	process    *exec.Cmd
	read       chan struct{} // closed when all of its output was read
	url        string
	owner      string // the owner's token
	admitted   []keyedDevice
	production logbook.ID
}

// A keyedDevice is one that was paired by its key.
type keyedDevice struct {
	pairing.Admission
	key *prooftest.Key
}

// openHub starts a server in an empty folder, with devices and a production.
func openHub(t testing.TB, devices int) *hub {
	return openHubIn(t, filepath.Join(t.TempDir(), "data"), devices)
}

// openHubIn starts a server in a folder that it makes.
func openHubIn(t testing.TB, folder string, devices int, options ...string) *hub {
	h := &hub{t: t, folder: folder, options: options}
	h.admit(devices)
	h.start()
	made, err := (&pass{token: h.owner}).post(h.url+"/v1/productions", []byte(`{"title":"Gauge Row","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`))
	var said struct{ ID string }
	if err == nil {
		err = json.Unmarshal(made, &said)
	}
	if err == nil {
		h.production, err = logbook.ParseID(said.ID)
	}
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// admit pairs an owner and the devices before the server runs, by a clock on which
// a minute goes by after each, because of the limits of pairing.
func (h *hub) admit(devices int) {
	h.t.Helper()
	err := makeFolder(h.folder)
	if err != nil {
		h.t.Fatal(err)
	}
	store, err := openStore(h.folder)
	if err != nil {
		h.t.Fatal(err)
	}
	defer store.Close()
	clock := time.Now().Add(-time.Duration(devices+1) * time.Minute)
	key, err := openKey(h.folder, slog.New(slog.DiscardHandler))
	if err != nil {
		h.t.Fatal(err)
	}
	auth, err := pairing.OpenAuth(pairing.Config{
		Keep: store, Key: key, Now: func() time.Time { return clock }, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		h.t.Fatal(err)
	}
	owner, err := auth.MakeScript(pairing.Owner, "desk", logbook.ID{}, pairing.LongestScript)
	if err != nil {
		h.t.Fatal(err)
	}
	h.owner = owner.Token
	for i := range devices {
		invited, err := auth.Invite("desk", pairing.Editor, labelOf(i), logbook.ID{})
		if err != nil {
			h.t.Fatal(err)
		}
		const origin, path = "https://hub.local", "/v1/pairing" // it has no other yet
		key := prooftest.Draw()
		admission, err := auth.Pair(pairing.Request{Address: "127.0.0.1", Code: invited.Code, Shown: pairing.Credentials{Method: "POST",
			Origins: []string{origin}, Path: path, Proofs: []string{key.Proof("POST", origin+path, "", auth.Nonce())}}})
		if err != nil {
			h.t.Fatal(err)
		}
		h.admitted = append(h.admitted, keyedDevice{admission, key})
		clock = clock.Add(time.Minute)
	}
}

// start runs the server until the test ends, or until it is stopped.
func (h *hub) start() {
	h.t.Helper()
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		h.t.Fatal(err)
	}
	h.process = exec.Command(program, append([]string{"serve", "--listen", "127.0.0.1:0", "--data", h.folder}, h.options...)...)
	h.process.Stderr = &bytes.Buffer{}
	h.process.Env = append(os.Environ(), h.env...)
	out, err := h.process.StdoutPipe()
	if err == nil {
		err = h.process.Start()
	}
	if err != nil {
		h.t.Fatal(err)
	}
	h.t.Cleanup(func() { _ = h.process.Process.Kill() })
	lines := bufio.NewScanner(out)
	said, ready := awaitReady(lines)
	if !ready {
		_ = h.process.Wait()
		h.t.Fatalf("the server ended before it was ready: %s", h.process.Stderr)
	}
	h.url, h.read = said.url, make(chan struct{})
	go drain(lines, h.read)
}

// stop ends the server as Ctrl-C does.
func (h *hub) stop() {
	h.t.Helper()
	if err := h.process.Process.Signal(os.Interrupt); err != nil {
		h.t.Fatal(err)
	}
	<-h.read
	if err := h.process.Wait(); err != nil {
		h.t.Fatalf("%v: %s", err, h.process.Stderr)
	}
}

// kill ends the server without warning.
func (h *hub) kill() {
	_ = h.process.Process.Kill()
	<-h.read
	_ = h.process.Wait() // says that it was killed
}

// ask calls the server as the owner and returns the answer, whatever its status is.
func (h *hub) ask(method, path, body string) (status int, text string) {
	h.t.Helper()
	request, err := http.NewRequest(method, h.url+path, strings.NewReader(body))
	if err != nil {
		h.t.Fatal(err)
	}
	request.Header.Set("Authorization", "Bearer "+h.owner)
	if body != "" {
		request.Header.Set("Content-Type", "application/json")
	}
	answer, err := crashClient.Do(request)
	if err != nil {
		h.t.Fatal(err)
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	if err != nil {
		h.t.Fatal(err)
	}
	return answer.StatusCode, string(b)
}

// welcomed is what a server says when it starts.
type welcomed struct {
	url  string
	code string // "" where an owner was paired before
}

// awaitReady reads what a server says until it is ready.
func awaitReady(lines *bufio.Scanner) (said welcomed, ready bool) {
	for lines.Scan() {
		if found := listensOn.FindStringSubmatch(lines.Text()); found != nil {
			said.url = found[1]
		}
		if found := codePrinted.FindStringSubmatch(lines.Text()); found != nil {
			said.code = found[1]
		}
		if lines.Text() == readyLine {
			return said, true
		}
	}
	return said, false
}
