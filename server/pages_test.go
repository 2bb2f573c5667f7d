package main

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"encoding/pem"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/api/uplink"
	"evenwhite/server/browsertest"
)

var openPrinted = regexp.MustCompile(`^Open on this machine: +(\S+)$`)

// A pagesSite is a real server that has a name, in a process of its own.
type pagesSite struct {
	desk, origin string
	code         string // of the owner's invitation
	end          func(os.Signal)
}

func (s pagesSite) url() string {
	at, _, _ := strings.Cut(s.desk, "/#")
	return at
}

// servePagesIn serves a data folder until the test ends, or until end is called.
func servePagesIn(t testing.TB, data string, more ...string) (s pagesSite) {
	t.Helper()
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	server := exec.Command(program, append([]string{"serve", "--data", data, "--name", "set7", "--port", "0",
		"--desk-port", "0", "--no-mdns"}, more...)...)
	server.Stderr = os.Stderr
	out, err := server.StdoutPipe()
	if err == nil {
		err = server.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	var once sync.Once
	s.end = func(by os.Signal) {
		once.Do(func() {
			_ = server.Process.Signal(by)
			timer := time.AfterFunc(time.Minute, func() { _ = server.Process.Kill() })
			defer timer.Stop()
			if err := server.Wait(); err != nil && by == os.Interrupt {
				t.Errorf("the server ended with %v", err)
			}
		})
	}
	t.Cleanup(func() { s.end(os.Interrupt) })
	lines := bufio.NewScanner(out)
	for lines.Scan() && lines.Text() != readyLine {
		if found := openPrinted.FindStringSubmatch(lines.Text()); found != nil {
			s.desk = found[1]
		}
		if found := originPrinted.FindStringSubmatch(lines.Text()); found != nil {
			s.origin = found[1]
		}
		if found := codePrinted.FindStringSubmatch(lines.Text()); found != nil {
			s.code = found[1]
		}
	}
	go func() {
		for lines.Scan() {
		}
	}()
	if s.desk == "" || s.origin == "" {
		t.Fatalf("the server says no desk or origin: %+v", s)
	}
	return s
}

// root is the server's root certificate in DER, as it is had at the machine.
func (s pagesSite) root(t testing.TB) []byte {
	t.Helper()
	r, err := http.Get(s.url() + "/root.pem")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = r.Body.Close() }()
	text, err := io.ReadAll(r.Body)
	block, _ := pem.Decode(text)
	if err != nil || block == nil {
		t.Fatalf("%v: no certificate: %s", err, text)
	}
	return block.Bytes
}

// machine runs a command in a terminal at the machine.
func machine(t testing.TB, args ...string) string {
	t.Helper()
	program, err := exec.LookPath("evenwhite")
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, args...).Output()
	if err != nil {
		t.Fatalf("evenwhite %v: %v", args, err)
	}
	return strings.TrimSpace(string(out))
}

// linkThenLose links the server of a folder with another by the fingerprint of that one's root, waits until
// all is exchanged, and kills the other.
func linkThenLose(t *testing.T, data, elsewhere string, other pagesSite) {
	t.Helper()
	h := &hub{t: t, folder: data}
	invited := machine(t, "pair", "--data", elsewhere, "--role", "owner")
	code := regexp.MustCompile(`(?m)^    ([A-Z]{8})$`).FindStringSubmatch(invited)
	wrong := strings.Repeat("ab", 32)
	if err := exec.Command("evenwhite", "link", "--data", data, "--fingerprint", wrong, other.origin, code[1]).Run(); err == nil {
		t.Error("a certificate of another root is taken")
	}
	root := sha256.Sum256(other.root(t))
	machine(t, "link", "--data", data, "--fingerprint", hex.EncodeToString(root[:]), other.origin, code[1])
	wait(t, "nothing was exchanged", func() bool {
		return h.linksSay(func(l uplink.State, p uplink.ProductionState) bool {
			return !p.Last.IsZero() && p.Waiting == 0 && l.Ails() == ""
		})
	})
	other.end(os.Kill)
	wait(t, "it is not missed", func() bool {
		return h.linksSay(func(_ uplink.State, p uplink.ProductionState) bool {
			return strings.Contains(p.Trouble, "cannot be reached")
		})
	})
}

func TestTheDeskInABrowser(t *testing.T) {
	data, elsewhere := filepath.Join(t.TempDir(), "data"), filepath.Join(t.TempDir(), "elsewhere")
	other := servePagesIn(t, elsewhere, "--name", "set8")
	t.Setenv(roadsVariable, strings.TrimPrefix(other.origin, "https://")+"="+strings.Replace(
		strings.TrimPrefix(other.origin, "https://"), "set8.local", "127.0.0.1", 1))
	s := servePagesIn(t, data, "--demo")
	linkThenLose(t, data, elsewhere, other)
	owner := &pass{token: machine(t, "token", "--data", data, "--role", "owner")}
	made, err := owner.post(s.url()+"/v1/productions", []byte(`{"title":"Wrapped Early","timeZone":"UTC","frameRate":"25","gelFamily":"typed"}`))
	var wrapped struct{ ID string }
	if err == nil {
		err = json.Unmarshal(made, &wrapped)
	}
	if err != nil {
		t.Fatal(err)
	}
	machine(t, "remove", "--data", data, "--production", wrapped.ID)
	var got struct {
		Address, Production, Devices, Servers, Warned, Code, Backups, Again, Laptop, Around, Pair string

		Counted, Late string
		Guest         struct {
			Address, Name, Begins string
			Leaked                []string
		}
		Downloads   map[string]struct{ Name, Begins string }
		Kept        bool
		Wide, Small []string
	}
	browsertest.Browser{Trusts: s.root(t), Hosts: "MAP set7.local 127.0.0.1"}.Run(t, "../testdata/browser/desk.mjs",
		map[string]any{"desk": s.desk, "origin": s.origin}, &got)

	if got.Address != s.url()+"/" {
		t.Errorf("the ticket stays in the address: %s", got.Address)
	}
	for _, c := range []struct{ name, text, want string }{
		{"the production", got.Production, `(?s)The Salt Stairs\n.*\d+ off, .*to settle`},
		{"what was removed", got.Production, `(?s)Wrapped Early\n+Removed on .* by this machine, with 1 edit\..*in the folder evenwhite-`},
		{"the devices", got.Devices, `script\nowner · last seen`},
		{"a linked server that is gone", got.Servers, `(?s)https://set8\.local:\d+\nowner · all exchanged .* · no edits wait here · 0 still to come` +
			`.*It does not exchange: it cannot be reached.*Nothing is lost`},
		{"what wants a look", got.Warned, `https://set8\.local:\d+ does not exchange`},
		{"the code", got.Code, `^[B-Z]{8}$`},
		{"the backups", got.Backups, `The last one is \d+ min old, [0-9.]+ MB, check passed. \d+ kept.`},
		{"the colour log", got.Downloads["Colour log"].Name + got.Downloads["Colour log"].Begins, `color-log\.csv.*,`},
		{"the bundle", got.Downloads["Bundle"].Name, `bundle`},
		{"a ticket used again", got.Again, `This line was used`},
		{"the laptop", got.Laptop, `Bring a phone in`},
		{"looking around", got.Around, `(?s)invented.*The Salt Stairs`},
		{"what the guest got", got.Guest.Name + got.Guest.Begins, `color-log\.csv.*,`},
		{"the list of links", got.Counted, `(?s)the lab\n.*1 download, until`},
		{"a link that was revoked", got.Late, `it is revoked`},
		{"the app", got.Laptop, `Open the app here`},
		{"the address of an invitation", got.Pair, `^https://set7\.local:\d+/#now/pair`},
	} {
		if !regexp.MustCompile(c.want).MatchString(c.text) {
			t.Errorf("%s: it says %q, want %s", c.name, c.text, c.want)
		}
	}
	if got.Guest.Address != s.origin+"/g" || len(got.Guest.Leaked) > 0 {
		t.Errorf("the guest's address is %s; the secret was sent in %v", got.Guest.Address, got.Guest.Leaked)
	}
	for name, text := range map[string]string{"a ticket used again": got.Again, "a laptop that nobody knows": got.Laptop} {
		if strings.Contains(text, "Salt Stairs") || strings.Contains(text, "Invite") || strings.Contains(text, "Back up now") {
			t.Errorf("%s is shown something of a production: %s", name, text)
		}
	}
	if strings.Contains(got.Around, "Invite") || !got.Kept {
		t.Errorf("looking around invites: %v; the desk is kept after a reload: %v", strings.Contains(got.Around, "Invite"), got.Kept)
	}
	if len(got.Wide) > 0 || len(got.Small) > 0 {
		t.Errorf("wider than the screen: %v; too small to press: %v", got.Wide, got.Small)
	}
}
