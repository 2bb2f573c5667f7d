//go:build studio

package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/needed"
)

// startEtcd starts three members that end with the test; it returns how a studio calls them.
func startEtcd(t testing.TB) string {
	t.Helper()
	program := needed.Tool(t, "etcd")
	var client, peer, all []string
	for i := range 3 {
		for _, list := range []*[]string{&client, &peer} {
			l, err := net.Listen("tcp", "127.0.0.1:0")
			if err != nil {
				t.Fatal(err)
			}
			defer l.Close()
			*list = append(*list, l.Addr().String())
		}
		all = append(all, fmt.Sprintf("m%d=http://%s", i, peer[i]))
	}
	folder := t.TempDir()
	for i := range 3 {
		name := fmt.Sprint("m", i)
		c := exec.Command(program, "--name", name, "--data-dir", filepath.Join(folder, name),
			"--listen-client-urls", "http://"+client[i], "--advertise-client-urls", "http://"+client[i],
			"--listen-peer-urls", "http://"+peer[i], "--initial-advertise-peer-urls", "http://"+peer[i],
			"--initial-cluster", strings.Join(all, ","), "--logger", "zap", "--log-level", "error")
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			_ = c.Process.Kill()
			_ = c.Wait()
		})
	}
	return "etcd://" + strings.Join(client, ",")
}

// awaits waits for what comes by itself, at most for a while that only a fault takes.
func awaits(t testing.TB, what string, is func() bool) {
	t.Helper()
	for until := time.Now().Add(time.Minute); !is(); {
		if time.Now().After(until) {
			t.Fatalf("in vain waited for: %s", what)
		}
		<-time.After(5 * time.Millisecond)
	}
}

// studioProcesses starts servers at one etcd, their clocks apart, the first with a code for an owner.
func studioProcesses(t *testing.T, etcd string, ahead ...string) (all []*crash) {
	t.Helper()
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	for i, by := range ahead {
		c := &crash{t: t, program: program, folder: filepath.Join(t.TempDir(), "data"), acked: map[logbook.Dot]string{},
			options: []string{"--store", etcd, "--backup-every", "0"}}
		c.changed.L = &c.mu
		if i > 0 {
			copyKey(t, all[0].folder, c.folder)
		}
		t.Setenv(aheadVariable, by)
		c.start()
		t.Cleanup(c.kill)
		all = append(all, c)
	}
	return all
}

// copyKey gives a process the key by which another signs tokens.
func copyKey(t testing.TB, from, to string) {
	t.Helper()
	key, err := os.ReadFile(keyFile(from))
	if err == nil {
		err = os.MkdirAll(filepath.Dir(keyFile(to)), 0o700)
	}
	if err == nil {
		err = os.WriteFile(keyFile(to), key, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// ask makes one request with headers, and returns its status, headers and body.
func (p *pass) ask(t *testing.T, method, url, body string, headers ...string) (int, http.Header, string) {
	t.Helper()
	r, err := p.send(crashClient, func() (*http.Request, error) {
		request, err := http.NewRequest(method, url, strings.NewReader(body))
		if err != nil {
			return nil, err
		}
		request.Header.Set("Content-Type", "application/json")
		for i := 0; i < len(headers); i += 2 {
			request.Header.Set(headers[i], headers[i+1])
		}
		return request, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return r.StatusCode, r.Header, string(b)
}

// TestAStudioIsOneServer has a client hop between three processes whose clocks lie apart; two of them are
// killed under devices that push.
func TestAStudioIsOneServer(t *testing.T) {
	etcd := startEtcd(t)
	all := studioProcesses(t, etcd, "0s", "2h", "-2h")
	a, b, c := all[0], all[1], all[2]
	_, owner := a.pair(a.code)
	made := a.call(owner, "/v1/productions", `{"title":"Three Doors","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`)
	production := made["id"].(string)
	records := func(at *crash) string { return at.address() + "/v1/productions/" + production }
	awaits(t, "the production at every process", func() bool {
		for _, one := range all {
			if status, _, _ := owner.ask(t, "GET", records(one), ""); status != http.StatusOK {
				return false
			}
		}
		return true
	})

	t.Run("an invitation of one is good at another, once", func(t *testing.T) {
		invited := b.call(owner, "/v1/invitations", `{"role":"editor","label":"phone","production":"`+production+`"}`)
		code := invited["code"].(string)
		awaits(t, "the invitation", func() bool {
			_, _, list := owner.ask(t, "GET", c.address()+"/v1/invitations", "")
			return strings.Contains(list, code)
		})
		_, phone := c.pair(code)
		awaits(t, "the phone at the first", func() bool {
			status, _, _ := phone.ask(t, "GET", records(a), "")
			return status == http.StatusOK
		})
		if _, err := (&pass{}).post(a.address()+"/v1/pairing", []byte(`{"code":"`+code+`"}`)); err == nil {
			t.Error("the code let a second device in")
		}
	})

	t.Run("If-Match holds across processes", func(t *testing.T) {
		_, seen, _ := owner.ask(t, "GET", records(b), "")
		tag := seen.Get("ETag")
		patch := func(at *crash, title string) int {
			status, _, body := owner.ask(t, "PATCH", records(at), `{"title":"`+title+`"}`, "If-Match", tag,
				"Content-Type", "application/merge-patch+json")
			if status != http.StatusOK && status != http.StatusPreconditionFailed {
				t.Errorf("a patch: %d %s", status, body)
			}
			return status
		}
		if status := patch(b, "Four Doors"); status != http.StatusOK {
			t.Errorf("the first patch is answered %d", status)
		}
		if status := patch(c, "Five Doors"); status != http.StatusPreconditionFailed {
			t.Errorf("a patch of what was changed at another process is answered %d", status)
		}
	})

	t.Run("an Idempotency-Key holds across processes", func(t *testing.T) {
		body := `{"date":"2031-03-04","number":1}`
		first, at, said := owner.ask(t, "POST", records(a)+"/records/day", body, "Idempotency-Key", "the day")
		second, other, repeated := owner.ask(t, "POST", records(c)+"/records/day", body, "Idempotency-Key", "the day")
		if first != http.StatusCreated || second != first || other.Get("Location") != at.Get("Location") {
			t.Errorf("got %d %s and %d %s: %s %s", first, at.Get("Location"), second, other.Get("Location"), said, repeated)
		}
	})

	t.Run("an invitation asked for at all under one key is one", func(t *testing.T) {
		body := `{"role":"editor","label":"once","production":"` + production + `"}`
		invite := func(at *crash, key string) (int, string, string) {
			status, seen, said := owner.ask(t, "POST", at.address()+"/v1/invitations", body, "Idempotency-Key", key)
			return status, seen.Get("Location"), said
		}
		for n := range 4 {
			var asking sync.WaitGroup
			codes := make([]string, len(all))
			for i, one := range all {
				asking.Go(func() { _, codes[i], _ = invite(one, fmt.Sprint("key ", n)) })
			}
			asking.Wait()
			if codes[0] == "" || codes[1] != codes[0] || codes[2] != codes[0] {
				t.Fatalf("got %q", codes)
			}
		}
		awaits(t, "that four are left under four keys", func() bool { // a process withdraws its own where another was first
			_, _, list := owner.ask(t, "GET", a.address()+"/v1/invitations", "")
			return strings.Count(list, `"once"`) == 4
		})
		_, used, _ := invite(a, "key 0")
		a.pair(used[strings.LastIndexByte(used, '/')+1:])
		awaits(t, "that it is over, at all", func() bool {
			for _, one := range all {
				if status, _, said := invite(one, "key 0"); status != http.StatusConflict || !strings.Contains(said, "key-spent") {
					return false
				}
			}
			return true
		})
	})

	t.Run("a stream wakes by what another took", func(t *testing.T) {
		request, err := http.NewRequest("GET", records(c)+"/events", nil)
		if err != nil {
			t.Fatal(err)
		}
		owner.show(request)
		r, err := http.DefaultClient.Do(request)
		if err != nil || r.StatusCode != http.StatusOK {
			t.Fatal(r.Status, err)
		}
		defer r.Body.Close()
		if status, _, said := owner.ask(t, "POST", records(a)+"/records/day", `{"date":"2031-03-05","number":2}`); status != http.StatusCreated {
			t.Fatal(status, said)
		}
		time.AfterFunc(time.Minute, func() { _ = r.Body.Close() }) // which only a fault takes
		piece := make([]byte, 4096)
		for heard := ""; strings.Count(heard, "data: new") < 2; {
			n, err := r.Body.Read(piece)
			if heard += string(piece[:n]); err != nil {
				t.Fatalf("heard %q: %v", heard, err)
			}
		}
	})

	t.Run("who is revoked at one is out at all", func(t *testing.T) {
		invited := a.call(owner, "/v1/invitations", `{"role":"editor","label":"lost phone","production":"`+production+`"}`)
		device, lost := a.pair(invited["code"].(string))
		awaits(t, "the phone", func() bool { status, _, _ := lost.ask(t, "GET", records(b), ""); return status == http.StatusOK })
		if status, _, said := owner.ask(t, "DELETE", c.address()+"/v1/devices/"+device, ""); status >= 300 {
			t.Fatal(status, said)
		}
		begin := time.Now()
		awaits(t, "its end", func() bool {
			status, _, _ := lost.ask(t, "GET", records(b), "")
			return status == http.StatusUnauthorized
		})
		t.Logf("the other process refused it %s later", time.Since(begin).Round(time.Millisecond))
	})

	t.Run("two of three are killed under devices that push", func(t *testing.T) { killTwo(t, all, owner, production) })

	t.Run("a backup of etcd is a backup, and goes back into etcd", func(t *testing.T) {
		file, folder := filepath.Join(t.TempDir(), "etcd.backup"), filepath.Join(t.TempDir(), "restored")
		evenwhite := func(args ...string) string {
			t.Helper()
			out, err := exec.Command(a.program, args...).CombinedOutput()
			if err != nil {
				t.Fatalf("%v: %v: %s", args, err, out)
			}
			return string(out)
		}
		evenwhite("backup", "--data", c.folder, file)
		evenwhite("check", "--data", c.folder)
		evenwhite("restore", "--data", folder, "--admit", "all", file)
		evenwhite("copy", "--from", folder, "--to", etcd, "--prefix", "second")
		back := filepath.Join(t.TempDir(), "back")
		evenwhite("copy", "--from", etcd, "--prefix", "second", "--to", back)
		if one, other := evenwhite("check", "--data", folder), evenwhite("check", "--data", back); one != other {
			t.Errorf("the ways there and back lead to %q, from %q", other, one)
		}
		out, err := exec.Command(a.program, "copy", "--from", folder, "--to", etcd, "--prefix", "second").CombinedOutput()
		if err == nil || !bytes.Contains(out, []byte("holds something already")) {
			t.Errorf("a copy over what is there: %v: %s", err, out)
		}
	})
}

// killTwo kills two processes while devices push to whichever answers, and starts them again.
func killTwo(t *testing.T, all []*crash, owner *pass, production string) {
	seed := rand.Uint64() >> 1
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	first := all[0]
	first.production, _ = logbook.ParseID(production)
	first.devices = nil
	for i := range 4 {
		invited := first.call(owner, "/v1/invitations", fmt.Sprintf(`{"role":"editor","label":"phone %d","production":%q}`, i, production))
		device, p := first.pair(invited["code"].(string))
		first.devices = append(first.devices, newCrashDevice(t, first, device, p, chance, i))
	}
	var running sync.WaitGroup
	var mu sync.Mutex
	ended := false
	over := func() bool { mu.Lock(); defer mu.Unlock(); return ended }
	for _, d := range first.devices {
		running.Go(func() {
			for !over() {
				d.write()
				at := all[d.chance.IntN(len(all))].address()
				if at == "" {
					continue
				}
				_, _ = first.once(d, at) // what gets no answer is sent again
			}
		})
	}
	goesOn := func() {
		target := len(first.promised()) + 60
		awaits(t, "acknowledged edits", func() bool { return len(first.promised()) >= target })
	}
	goesOn()
	all[0].kill()
	goesOn()
	all[1].kill()
	goesOn()
	t.Setenv(aheadVariable, "1h")
	all[0].start()
	goesOn()
	all[1].start()
	goesOn()
	mu.Lock()
	ended = true
	mu.Unlock()
	running.Wait()
	digests := map[string]bool{}
	for i, one := range all {
		fresh := newCrashDevice(t, first, first.devices[0].id.String(), first.devices[0].pass, chance, 0)
		awaits(t, fmt.Sprintf("all acknowledged edits at process %d", i), func() bool {
			for more := true; more; {
				_, answer, err := fresh.exchange(one.address(), first.production)
				if err != nil {
					t.Fatal(err)
				}
				fresh.log, more = fresh.replica.Take(answer)
			}
			for dot := range first.promised() {
				if !fresh.replica.Book().Held(dot) {
					return false
				}
			}
			return true
		})
		var list []string
		for _, v := range fresh.replica.Book().AllRecords("clip") {
			list = append(list, v.ID.String()+v.ETag())
		}
		text, err := json.Marshal(list)
		if err != nil {
			t.Fatal(err)
		}
		digests[digestOf(text)] = true
	}
	if len(digests) != 1 {
		t.Errorf("the processes differ: %v", digests)
	}
	t.Logf("%d edits were acknowledged, none is lost; all books are %v", len(first.promised()), digests)
}
