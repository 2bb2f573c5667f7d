//go:build studio

package main

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook/etcd/etcdtest"
)

// TestAStudioAnswersInAnOutage asks for twenty changes at once when etcd has just died, and again later: each is refused
// by one that was asked for all: one behind the other they took as long as those before them together.
func TestAStudioAnswersInAnOutage(t *testing.T) {
	etcd := etcdtest.Start(t, t.TempDir())
	c := studioProcesses(t, "etcd://"+etcd.Address, "0s")[0]
	_, owner := c.pair(c.code)
	made := c.call(owner, "/v1/productions", `{"title":"Three Doors","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`)
	days := c.address() + "/v1/productions/" + made["id"].(string) + "/records/day"
	log := func(key string) int {
		status, _, _ := owner.ask(t, "POST", days, `{"date":"2031-03-04","number":1}`, "Idempotency-Key", key)
		return status
	}
	etcd.Kill()
	for _, when := range []string{"at once", "later"} {
		var all sync.WaitGroup
		begun, took := time.Now(), make([]time.Duration, 20)
		for i := range took {
			all.Go(func() {
				if status := log(fmt.Sprint(i)); status != http.StatusServiceUnavailable {
					t.Errorf("%s a change is answered %d", when, status)
				}
				took[i] = time.Since(begun)
			})
		}
		all.Wait()
		t.Logf("%s: the last of %d changes is refused after %s", when, len(took), slices.Max(took).Round(time.Millisecond))
	}
	etcd.Start()
	awaits(t, "a change that is taken", func() bool { return log("0") == http.StatusCreated })
	if _, _, list := owner.ask(t, "GET", days, ""); strings.Count(list, `"number"`) != 1 {
		t.Errorf("a change that was refused is there: %s", list)
	}
}
