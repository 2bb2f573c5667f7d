package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/api/uplink"
	"evenwhite/logbook"
)

// lets sends a request as the owner, with the tag that a change needs, and demands that it is done.
func (h *hub) lets(method, path, body string) (said map[string]any) {
	h.t.Helper()
	request, err := http.NewRequest(method, h.url+path, strings.NewReader(body))
	if err != nil {
		h.t.Fatal(err)
	}
	request.Header.Set("Authorization", "Bearer "+h.owner)
	request.Header.Set("Content-Type", "application/json")
	if method == http.MethodPatch {
		request.Header.Set("Content-Type", "application/merge-patch+json")
		request.Header.Set("If-Match", h.tag(path))
	}
	answer, err := crashClient.Do(request)
	if err != nil {
		h.t.Fatal(err)
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	if err == nil && answer.StatusCode >= 300 {
		err = fmt.Errorf("%s %s", answer.Status, b)
	}
	if err == nil && len(b) > 0 {
		err = json.Unmarshal(b, &said)
	}
	if err != nil {
		h.t.Fatalf("%s %s: %v", method, path, err)
	}
	return said
}

func (h *hub) tag(path string) string {
	h.t.Helper()
	request, err := http.NewRequest(http.MethodGet, h.url+path, nil)
	if err != nil {
		h.t.Fatal(err)
	}
	request.Header.Set("Authorization", "Bearer "+h.owner)
	answer, err := crashClient.Do(request)
	if err != nil {
		h.t.Fatal(err)
	}
	_ = answer.Body.Close()
	return answer.Header.Get("ETag")
}

const gaugeRow = `{"title":"Gauge Row","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`

// begins makes a production.
func (h *hub) begins(body string) (at string) {
	h.t.Helper()
	id := h.lets("POST", "/v1/productions", body)["id"].(string)
	var err error
	if h.production, err = logbook.ParseID(id); err != nil {
		h.t.Fatal(err)
	}
	return "/v1/productions/" + id
}

// day logs a day by its number.
func (h *hub) day(at string, number int) {
	h.t.Helper()
	h.lets("POST", at+"/records/day", fmt.Sprintf(`{"number":%d,"date":"2031-03-%02d"}`, number, number))
}

// has reports whether days are there.
func (h *hub) has(at string, numbers ...int) bool {
	h.t.Helper()
	_, text := h.ask("GET", at+"/records/day", "")
	for _, n := range numbers {
		if !strings.Contains(text, fmt.Sprintf(`"number":%d,`, n)) && !strings.Contains(text, fmt.Sprintf(`"number":%d}`, n)) {
			return false
		}
	}
	return true
}

// linksSay reports whether some production of some link is as told.
func (h *hub) linksSay(is func(uplink.State, uplink.ProductionState) bool) bool {
	h.t.Helper()
	for _, l := range h.links() {
		for _, p := range l.Productions {
			if is(l, p) {
				return true
			}
		}
	}
	return false
}

// two starts two servers, of which the second is not linked yet.
func two(t *testing.T) (one, other *hub) {
	seed := rand.Uint64()
	t.Logf("addresses by %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	one, other = linkedHub(t, chance, 0), linkedHub(t, chance, 0)
	other.env = []string{pauseVariable + "=1s"}
	one.start()
	other.start()
	return one, other
}

// restore goes back to a backup in another folder, and serves it under the same address.
func (h *hub) restore(backup string) {
	h.t.Helper()
	h.kill()
	h.folder = filepath.Join(h.t.TempDir(), "restored")
	machine(h.t, "restore", "--data", h.folder, "--admit", "all", backup)
	h.start()
}

func TestALinkOutlivesRestores(t *testing.T) {
	t.Parallel()
	one, other := two(t)
	at := one.begins(gaugeRow)
	one.day(at, 1)
	other.join(one, "editor")
	wait(t, "the first day did not come", func() bool { return other.has(at, 1) })
	yesterday := filepath.Join(t.TempDir(), "one.backup")
	machine(t, "backup", "--data", one.folder, yesterday)
	one.day(at, 2)
	other.day(at, 3)
	wait(t, "days 2 and 3 are not on both sides", func() bool { return one.has(at, 2, 3) && other.has(at, 2, 3) })

	one.restore(yesterday) // the other fills it again, with what was made on it as well
	wait(t, "the restored server is not filled again", func() bool { return one.has(at, 1, 2, 3) })
	wait(t, "the link is not at rest", func() bool {
		return other.linksSay(func(_ uplink.State, p uplink.ProductionState) bool { return p.Trouble == "" && p.Waiting+p.Coming == 0 })
	})

	before := filepath.Join(t.TempDir(), "other.backup")
	machine(t, "backup", "--data", other.folder, before)
	other.day(at, 4)
	wait(t, "day 4 did not go", func() bool { return one.has(at, 4) })
	other.restore(before) // its keys are gone: it says so, and is linked anew
	one.day(at, 5)
	wait(t, "a restored server does not say that its link has no key", func() bool {
		for _, l := range other.links() {
			return strings.Contains(l.Ails(), "link again with a new code")
		}
		return false
	})
	machine(t, "unlink", "--data", other.folder, "http://"+one.address())
	other.join(one, "editor")
	wait(t, "what it had made did not come back", func() bool { return other.has(at, 1, 2, 3, 4, 5) })
}

func TestTwoServersThatWereFilledFromNothingMeet(t *testing.T) {
	t.Parallel()
	source, one := two(t)
	at := source.begins(gaugeRow)
	source.day(at, 1)
	whole, more := filepath.Join(t.TempDir(), "whole.bundle"), filepath.Join(t.TempDir(), "more.bundle")
	machine(t, "bundle", "write", "--data", source.folder, whole)
	source.day(at, 2)
	machine(t, "bundle", "write", "--data", source.folder, more)
	machine(t, "bundle", "take", "--data", one.folder, whole)
	other := linkedHub(t, rand.New(rand.NewPCG(rand.Uint64(), 1)), 0)
	other.start()
	machine(t, "bundle", "take", "--data", other.folder, more)
	one.day(at, 3)
	other.join(one, "editor")
	wait(t, "they do not hold the same", func() bool { return one.has(at, 1, 2, 3) && other.has(at, 1, 2, 3) })
}

// Two productions under one id are kept apart; each server goes on alone.
func TestAnotherProductionUnderOneIDIsNotMixedIn(t *testing.T) {
	t.Parallel()
	one, other := two(t)
	const id = `"id":"01a212d6-9b6e-7a38-b2a5-92f23d5ac801"`
	at := one.begins(`{` + id + `,` + gaugeRow[1:])
	other.begins(`{` + id + `,"title":"The Other One",` + strings.SplitN(gaugeRow, ",", 2)[1])
	one.day(at, 1)
	other.day(at, 2)
	other.join(one, "owner")
	wait(t, "it does not say that they are two", func() bool {
		return other.linksSay(func(_ uplink.State, p uplink.ProductionState) bool {
			return strings.Contains(p.Trouble, "another production under this id") && p.Waiting > 0
		})
	})
	if one.has(at, 2) || other.has(at, 1) {
		t.Error("they are mixed")
	}
	if status, text := other.ask("GET", "/readyz", ""); status != 200 || !strings.Contains(text, "does not exchange") {
		t.Errorf("readyz answers %d %s", status, text)
	}
}

// Another version of the rules, and a clock days off: edits go both ways, and both are told.
func TestALinkWithOtherRulesAndAnotherClock(t *testing.T) {
	t.Parallel()
	one, other := two(t)
	other.kill()
	other.env = append(other.env, rulesVariable+"=2", aheadVariable+"=-72h")
	other.start()
	at := one.begins(gaugeRow)
	one.day(at, 1)
	other.join(one, "editor")
	wait(t, "day 1 did not come", func() bool { return other.has(at, 1) })
	other.day(at, 2)
	wait(t, "day 2 did not go", func() bool { return one.has(at, 2) })
	wait(t, "neither rules nor clock are told", func() bool {
		return other.linksSay(func(_ uplink.State, p uplink.ProductionState) bool {
			return p.Rules == 1 && p.Clock > 71*3600 && p.Clock < 73*3600 && p.Trouble == ""
		})
	})
	said := machine(t, "links", "--data", other.folder)
	for _, want := range []string{"the other judges by rules 1", "its clock is 72h0m0s ahead of the one here"} {
		if !strings.Contains(said, want) {
			t.Errorf("links says %s, want %q in it", said, want)
		}
	}
}

// Somebody in between keeps event streams to himself: edits come all the same, a little later.
func TestALinkOverAProxyThatBuffers(t *testing.T) {
	t.Parallel()
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	one, other := linkedHub(t, chance, 0), linkedHub(t, chance, 0)
	between := openRoad(t, one.address(), chance)
	between.turn(weather{buffers: true})
	other.env = []string{pauseVariable + "=1s", roadsVariable + "=" + one.address() + "=" + between.address()}
	one.start()
	other.start()
	at := one.begins(gaugeRow)
	other.join(one, "editor")
	wait(t, "no event stream is kept", func() bool {
		between.mu.Lock()
		defer between.mu.Unlock()
		return between.held > 0
	})
	one.day(at, 1)
	other.begins(`{"title":"Another",` + strings.SplitN(gaugeRow, ",", 2)[1])
	wait(t, "day 1 did not come", func() bool { return other.has(at, 1) })
	other.day(at, 2)
	wait(t, "day 2 did not go", func() bool { return one.has(at, 2) })
}

// The production's own settings are an owner's: those of the other wait on either side, until one says yes.
func TestSettingsThatComeOverALinkWaitForAnOwner(t *testing.T) {
	t.Parallel()
	one, other := two(t)
	at := one.begins(gaugeRow)
	other.join(one, "editor")
	wait(t, "the production did not come", func() bool { status, _ := other.ask("GET", at, ""); return status == 200 })
	for _, c := range []struct {
		name      string
		from, to  *hub
		title     string
		tellsLink bool // who asks hears that they wait there
	}{{"there", other, one, "Gauge Row, second unit", true}, {"here", one, other, "Gauge Row, first unit", false}} {
		c.from.lets("PATCH", at, `{"title":"`+c.title+`"}`)
		var waits []any
		wait(t, c.name+": nothing waits for an owner", func() bool {
			waits = c.to.lets("GET", at+"/aside", "")["edits"].([]any)
			return len(waits) > 0
		})
		c.to.day(at, len(c.title)) // what else comes goes on
		wait(t, c.name+": a day did not come", func() bool { return c.from.has(at, len(c.title)) })
		if got := c.to.lets("GET", at, "")["title"]; got == c.title {
			t.Errorf("%s: it reads %q, and no owner was asked", c.name, got)
		}
		if _, text := c.to.ask("GET", "/readyz", ""); !strings.Contains(text, "owner") {
			t.Errorf("%s: readyz does not tell: %s", c.name, text)
		}
		aside := func(n int) func() bool {
			return func() bool {
				return other.linksSay(func(_ uplink.State, p uplink.ProductionState) bool { return p.Aside == n && p.Waiting == 0 })
			}
		}
		if c.tellsLink {
			wait(t, "the link does not say that one waits there", aside(1))
		}
		id := waits[0].(map[string]any)["id"].(string)
		c.to.lets("POST", at+"/aside", `{"take":["`+id+`"]}`)
		wait(t, c.name+": after the owner's word it reads as before", func() bool { return c.to.lets("GET", at, "")["title"] == c.title })
		wait(t, c.name+": the link says that one waits there still", aside(0))
	}
}

// A code with new productions: the cart's come to the studio, with their settings; the studio's stay there.
func TestACartBringsItsOwnProductionsToAStudio(t *testing.T) {
	t.Parallel()
	studio, cart := two(t)
	theirs := studio.begins(`{"title":"Not For The Cart",` + strings.SplitN(gaugeRow, ",", 2)[1])
	mine := cart.begins(gaugeRow)
	cart.day(mine, 1)
	cart.join(studio, "editor", "--new")
	wait(t, "the cart's production did not come", func() bool { return studio.has(mine, 1) })
	later := cart.begins(`{"title":"Begun Later",` + strings.SplitN(gaugeRow, ",", 2)[1])
	cart.lets("PATCH", later, `{"title":"Begun Later, renamed"}`)
	wait(t, "a production that was begun later did not come as it reads", func() bool {
		status, text := studio.ask("GET", later, "")
		return status == 200 && strings.Contains(text, "Begun Later, renamed")
	})
	if status, _ := cart.ask("GET", theirs, ""); status != 404 {
		t.Errorf("the cart was sent what it was not let in to: %d", status)
	}
	for _, at := range []string{mine, later} {
		if waits := studio.lets("GET", at+"/aside", "")["edits"].([]any); len(waits) > 0 {
			t.Errorf("an owner of the studio is asked about %v", waits)
		}
	}

	// A plain editor's code brings none: that is told, and is no trouble.
	third := linkedHub(t, rand.New(rand.NewPCG(rand.Uint64(), 1)), 0)
	third.start()
	own := third.begins(`{"title":"Stays",` + strings.SplitN(gaugeRow, ",", 2)[1])
	third.join(studio, "editor")
	wait(t, "what is here alone is not told as apart", func() bool {
		return third.linksSay(func(l uplink.State, p uplink.ProductionState) bool {
			return p.Production == third.production && strings.Contains(p.Apart, "no new productions") && l.Ails() == ""
		})
	})
	if status, _ := studio.ask("GET", own, ""); status != 404 {
		t.Errorf("it was brought all the same: %d", status)
	}
}
