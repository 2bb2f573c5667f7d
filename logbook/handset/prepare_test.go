package handset_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

func TestWhatIsPreparedInStepsIsAnsweredTheSame(t *testing.T) {
	store := logbook.NewMemory()
	var setUp logbook.ID
	demoLog(t, store).Read(func(b *logbook.Book) { setUp = b.Records(kinds.SetUp)[0].ID })
	prepared, fresh := heldBy(t, store), heldBy(t, store)
	calls := 1
	for prepared.member("prepare", `{"most":10}`, nil, "done") != "true" {
		calls++
	}
	if calls < 5 {
		t.Errorf("all was prepared in %d steps of 10 records", calls)
	}
	for name, text := range map[string]string{
		"twins": `{}`, "conflicts": fmt.Sprintf(`{"now":%d}`, asked),
		"event": writes(1, fmt.Sprintf(`"setUp":"%s","event":{"event":"nextTake"}`, setUp)),
	} {
		if got, want := string(prepared.ask(name, text, nil).JSON), string(fresh.ask(name, text, nil).JSON); got != want {
			t.Errorf("%s: got %.300s, want %.300s", name, got, want)
		}
	}
}
