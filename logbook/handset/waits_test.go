package handset_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/handset"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
)

// The counts of waits are those of what Settle lists.
func TestWaitsCountsWhatIsListed(t *testing.T) {
	store := logbook.NewMemory()
	demoLog(t, store)
	m := heldBy(t, store)
	answer := func(name, text string, into any) {
		t.Helper()
		if err := json.Unmarshal(m.ask(name, text, nil).JSON, into); err != nil {
			t.Fatal(err)
		}
	}
	var asks review.ConflictsPage
	answer("conflicts", fmt.Sprintf(`{"now":%d,"limit":500}`, asked), &asks)
	var twins review.TwinsPage
	answer("twins", `{"limit":500}`, &twins)
	var setUps struct {
		SetUps []struct{ SetUp, Day logbook.ID }
	}
	answer("setUps", `{}`, &setUps)
	found := 0
	for _, s := range setUps.SetUps {
		var off struct{ Deviations []deviation.Deviation }
		answer("deviations", fmt.Sprintf(`{"now":%d,"day":"%s","accepted":false}`, asked, s.Day), &off)
		found += len(off.Deviations)
		var got handset.Waits
		answer("waits", fmt.Sprintf(`{"now":%d,"setUp":"%s"}`, asked, s.SetUp), &got)
		want := handset.Waits{Questions: len(asks.Conflicts) + len(asks.Apart), Twins: len(twins.Twins), Off: len(off.Deviations)}
		if got != want {
			t.Errorf("waits of set-up %s: got %+v, want %+v", s.SetUp, got, want)
		}
	}
	if len(asks.Conflicts) == 0 || len(twins.Twins) == 0 || found == 0 {
		t.Errorf("%d conflicts, %d twins, %d deviations: too little to say anything", len(asks.Conflicts), len(twins.Twins), found)
	}
	if got, ok := m.Call("waits", fmt.Appendf(nil, `{"now":%d,"setUp":"%s"}`, asked, logbook.ID{1}), nil); ok {
		t.Errorf("waits of a %s that is not here: got %s, want a fault", kinds.SetUp, got.JSON)
	}
}
