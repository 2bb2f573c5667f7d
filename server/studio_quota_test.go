//go:build studio

package main

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"os/exec"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/etcd/etcdtest"
)

// TestAStudioMeetsItsQuota fills etcd under a server: that is said before, then changes are refused by 507 and pushed edits
// answered later, and once etcd has room it goes on by itself.
func TestAStudioMeetsItsQuota(t *testing.T) {
	const quota = 16 << 20
	etcd := etcdtest.Start(t, t.TempDir(), "--quota-backend-bytes", fmt.Sprint(quota))
	c := studioProcesses(t, "etcd://"+etcd.Address, "0s")[0]
	_, owner := c.pair(c.code)
	made := c.call(owner, "/v1/productions", `{"title":"Three Doors","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`)
	days := c.address() + "/v1/productions/" + made["id"].(string) + "/records/day"
	c.production, _ = logbook.ParseID(made["id"].(string))
	invited := c.call(owner, "/v1/invitations", `{"role":"editor","label":"phone","production":"`+c.production.String()+`"}`)
	device, p := c.pair(invited["code"].(string))
	phone := newCrashDevice(t, c, device, p, rand.New(rand.NewPCG(1, 1)), 1)
	log := func(n int) (int, string) {
		status, _, said := owner.ask(t, "POST", days, fmt.Sprintf(`{"date":"2031-03-04","number":%d}`, n))
		return status, said
	}
	push := func() (outcomes []string) {
		_, answer, err := phone.exchange(c.address(), c.production)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range answer.Answers {
			outcomes = append(outcomes, a.Outcome)
		}
		phone.log, _ = phone.replica.Take(answer)
		return outcomes
	}
	says := func(what string, does bool) {
		t.Helper()
		awaits(t, what, func() bool {
			status, _, ready := owner.ask(t, "GET", c.address()+"/readyz", "")
			return status == http.StatusOK && strings.Contains(ready, what) == does
		})
	}
	phone.write()
	push()
	push()
	if status, said := log(1); status != http.StatusCreated {
		t.Fatal(status, said)
	}
	if full := etcd.Fill(quota * 3 / 4); full {
		t.Fatal("etcd is full at three quarters of its quota")
	}
	says("of its quota", true)
	if out, _ := exec.Command(c.program, "doctor", "--data", c.folder).CombinedOutput(); !strings.Contains(string(out), "of its quota") {
		t.Errorf("the doctor says %s", out)
	}
	if status, said := log(2); status != http.StatusCreated {
		t.Fatal(status, said)
	}
	if full := etcd.Fill(4 * quota); !full {
		t.Fatal("etcd takes more than its quota")
	}
	if status, said := log(3); status != http.StatusInsufficientStorage || !strings.Contains(said, "disk-full") {
		t.Errorf("a change is answered %d: %s", status, said)
	}
	phone.write()
	if got := push(); len(got) != 1 || got[0] != logbook.AnswerLater {
		t.Errorf("a pushed edit is answered %v", got)
	}
	says("has reached its quota", true)
	if status, _, list := owner.ask(t, "GET", days, ""); status != http.StatusOK || strings.Count(list, `"number"`) != 2 {
		t.Errorf("reading is answered %d: %s", status, list)
	}
	etcd.MakeRoom()
	if status, said := log(3); status != http.StatusCreated {
		t.Errorf("with room a change is answered %d: %s", status, said)
	}
	if got := push(); len(got) != 1 || got[0] == logbook.AnswerLater {
		t.Errorf("with room the same edit is answered %v", got)
	}
	says("quota", false)
}
