package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/api/removal"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// TestAKilledServerHasAProductionOrItsFiles kills the real server at a moment drawn by chance
// while it removes a production. What it leaves is all of the log and no mark, or no log, the
// mark, and whole files, from which the next round begins.
func TestAKilledServerHasAProductionOrItsFiles(t *testing.T) {
	seed := *crashSeed
	if seed == 0 {
		seed = rand.Uint64() >> 1
	}
	t.Logf("-crash.seed=%d", seed)
	chance := rand.New(rand.NewPCG(seed, 4))
	h := openHub(t, 0)
	base := "/v1/productions/" + h.production.String()
	h.asked("POST", base+"/bundle", invented(t, h.production, 2000), 200)
	bundle := []byte(h.asked("GET", base+"/bundle", nil, 200))
	order := func() []byte {
		colors := h.asked("GET", base+"/color-log.csv", nil, 200)
		return fmt.Appendf(nil, `{"bundle":"%s","colorLog":"%s"}`, digestOf(bundle), digestOf([]byte(colors)))
	}
	again := func() {
		h.asked("GET", base, nil, 410)
		h.asked("DELETE", base+"/removal", nil, 204)
		h.asked("POST", base+"/bundle", bundle, 200)
		if again := h.asked("GET", base+"/bundle", nil, 200); again != string(bundle) {
			t.Fatal("taken in again, it is not what it was")
		}
	}
	begin := time.Now()
	h.asked("POST", base+"/removal", order(), 200)
	spent := time.Since(begin) // a measure of when to kill, and of nothing else
	again()
	gone, rounds := 0, 10+*crashKills/5
	for range rounds {
		body, answered := order(), make(chan struct{})
		go func() {
			defer close(answered)
			h.tried("POST", base+"/removal", body)
		}()
		<-time.After(time.Duration(chance.Int64N(int64(spent) * 3 / 2)))
		h.kill()
		<-answered
		left := h.leftOf(t, bundle)
		h.start()
		if !left {
			gone++
			again()
		}
	}
	t.Logf("of %d kills %d came after the commit", rounds, gone)
}

// tried asks as the owner; the status is 0 where the answer was cut off.
func (h *hub) tried(method, path string, body []byte) (status int, text string) {
	request, err := http.NewRequest(method, h.url+path, bytes.NewReader(body))
	if err != nil {
		return 0, err.Error()
	}
	request.Header.Set("Authorization", "Bearer "+h.owner)
	request.Header.Set("Content-Type", "application/json")
	if strings.HasSuffix(path, "/bundle") {
		request.Header.Set("Content-Type", "application/octet-stream")
	}
	answer, err := crashClient.Do(request)
	if err != nil {
		return 0, err.Error()
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	if err != nil {
		return 0, err.Error()
	}
	return answer.StatusCode, string(b)
}

// asked is an answer of the status that is wanted.
func (h *hub) asked(method, path string, body []byte, want int) string {
	h.t.Helper()
	status, text := h.tried(method, path, body)
	if status != want {
		h.t.Fatalf("%s %s: got %d %s, want %d", method, path, status, text, want)
	}
	return text
}

func digestOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// invented is a bundle of notes by a device that nobody paired.
func invented(t *testing.T, production logbook.ID, n int) []byte {
	t.Helper()
	var edits []*logbook.Edit
	for i := range n {
		edits = append(edits, &logbook.Edit{
			Production: production, Kind: "note", Record: logbook.ID{1, byte(i >> 8), byte(i), 14: 7}, Device: logbook.ID{3, 14: 7},
			Dot: logbook.Dot{Line: logbook.Line{7}, N: uint64(i + 1)}, At: 1_930_000_000_000, By: "2nd AC",
			Set: []logbook.Change{{Field: "text", Value: logbook.TextValue(fmt.Sprint("note ", i))}},
		})
	}
	var out bytes.Buffer
	if err := exchange.WriteBundle(&out, production, edits); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// leftOf looks at what a kill left, and reports whether the production is in the file.
func (h *hub) leftOf(t *testing.T, bundle []byte) bool {
	t.Helper()
	if report, err := bolt.Check(databaseOf(h.folder)); err != nil || !report.Whole() {
		t.Fatalf("after a kill: %v %+v", err, report)
	}
	store, err := bolt.Open(databaseOf(h.folder))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	here, err := store.Productions()
	if err != nil {
		t.Fatal(err)
	}
	mark, err := removal.Find(store, h.production)
	if err != nil || (mark == nil) != (len(here) == 1) {
		t.Fatalf("the store has %v and the mark %+v (%v)", here, mark, err)
	}
	if mark != nil {
		got, err := os.ReadFile(filepath.Join(removalsOf(h.folder), mark.Folder, "edits.bundle"))
		if err != nil || !bytes.Equal(got, bundle) || len(mark.Files) != 3 {
			t.Fatalf("%+v is marked, and its bundle is another (%v)", mark, err)
		}
		for _, f := range mark.Files {
			b, err := os.ReadFile(filepath.Join(removalsOf(h.folder), mark.Folder, f.Name))
			if err != nil || digestOf(b) != f.SHA256 {
				t.Fatalf("%s is not as its mark says (%v)", f.Name, err)
			}
		}
		return false
	}
	l, err := logbook.OpenLog(store, h.production, kinds.Rules, drawLine)
	if err != nil {
		t.Fatal(err)
	}
	var left bytes.Buffer
	part, err := exchange.NewPeer(l).Since("")
	if err == nil {
		_, err = part.WriteBundle(&left)
	}
	if err != nil || !bytes.Equal(left.Bytes(), bundle) {
		t.Fatalf("the production stayed, and is not what it was (%v)", err)
	}
	return true
}
