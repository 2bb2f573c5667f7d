package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"testing"
	"time"
)

// TestAKilledServerLogsNoTakeTwice kills the real server at a moment drawn by chance while
// it logs a take, and asks again with the same key at the next start.
func TestAKilledServerLogsNoTakeTwice(t *testing.T) {
	seed := *crashSeed
	if seed == 0 {
		seed = rand.Uint64() >> 1
	}
	t.Logf("-crash.seed=%d", seed)
	chance := rand.New(rand.NewPCG(seed, 3))
	h := openHub(t, 0)
	base := "/v1/productions/" + h.production.String()
	ask := func(method, path, key, body string) (status int, said map[string]any) {
		request, err := http.NewRequest(method, h.url+base+path, bytes.NewReader([]byte(body)))
		if err != nil {
			t.Fatal(err)
		}
		request.Header.Set("Authorization", "Bearer "+h.owner)
		request.Header.Set("Content-Type", "application/json")
		request.Header.Set("Idempotency-Key", key)
		answer, err := crashClient.Do(request)
		if err != nil {
			return 0, nil
		}
		defer answer.Body.Close()
		b, err := io.ReadAll(answer.Body)
		if err != nil || json.Unmarshal(b, &said) != nil {
			return 0, nil
		}
		return answer.StatusCode, said
	}
	made := func(kind, body string) string {
		status, said := ask(http.MethodPost, "/records/"+kind, kind, body)
		if status != 201 {
			t.Fatalf("a %s: got %d %v", kind, status, said)
		}
		return said["id"].(string)
	}
	day := made("day", `{"number":1,"date":"2031-03-04"}`)
	events := "/set-ups/" + made("setUp", `{"day":"`+day+`","name":"1"}`) + "/events"
	unheard := 0
	const takes = 8
	for n := range takes {
		key := fmt.Sprint("take ", n+1)
		answered := make(chan int, 1)
		go func() {
			status, _ := ask(http.MethodPost, events, key, `{"event":"nextTake"}`)
			answered <- status
		}()
		<-time.After(time.Duration(chance.IntN(4000)) * time.Microsecond)
		h.kill()
		if <-answered == 0 {
			unheard++
		}
		h.start()
		if status, said := ask(http.MethodPost, events, key, `{"event":"nextTake"}`); status != 201 {
			t.Fatalf("%s: got %d %v", key, status, said)
		}
	}
	_, said := ask(http.MethodGet, "/records/take?limit=100", "", "")
	if got, _ := said["records"].([]any); len(got) != takes {
		t.Errorf("there are %d takes, want %d; %d answers were not heard", len(got), takes, unheard)
	}
	t.Logf("%d of %d answers were not heard", unheard, takes)
}
