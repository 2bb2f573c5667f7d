package handset_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/server/demo"
)

// tag is that of a record as it is shown, as a JSON text.
func (m *machine) tag(kind logbook.Kind, id logbook.ID) string {
	m.Helper()
	return string(m.member("record", fmt.Sprintf(`{"kind":"%s","record":"%s"}`, kind, id), nil, "tag"))
}

func (m *machine) fault(name, text string) (f struct{ Type, Detail string }) {
	m.Helper()
	a, ok := m.Call(name, []byte(text), nil)
	if err := json.Unmarshal(a.JSON, &f); ok || err != nil {
		m.Fatalf("%s %s succeeds: %s", name, text, a.JSON)
	}
	return f
}

func TestWhatIsWrittenIsHeldOnceThePageStoredIt(t *testing.T) {
	store := logbook.NewMemory()
	l, m := demoLog(t, store), heldBy(t, store)
	setUp := lastSetUp(l)
	held := func() string { return string(m.member("state", `{}`, nil, "held")) }
	before := held()
	made := m.ask("event", writes(1, fmt.Sprintf(`"setUp":"%s","event":{"event":"nextTake"}`, setUp.ID)), nil)
	if held() != before {
		t.Error("the engine holds what nobody stored yet")
	}
	if again := m.ask("event", writes(1, fmt.Sprintf(`"setUp":"%s","event":{"event":"nextTake"}`, setUp.ID)), nil); string(again.Bytes) != string(made.Bytes) {
		t.Error("the same message made other edits")
	}
	var saved struct {
		Held, New, Mine, Unsent int
		Records                 []struct{ Kind string }
		Marks                   []any
	}
	if err := json.Unmarshal(m.save(made).JSON, &saved); err != nil {
		t.Fatal(err)
	}
	parts := unframed(t, made.Bytes)
	if len(parts) < 2 || saved.New != len(parts) || saved.Mine != len(parts) || saved.Unsent != len(parts) || len(saved.Marks) > 0 ||
		saved.Records[0].Kind != "take" || fmt.Sprint(saved.Held-len(parts)) != before {
		t.Errorf("%d edits were made; held: %+v, before %s", len(parts), saved, before)
	}
}

func TestAChangeOfWhatWasNotSeenIsRefused(t *testing.T) {
	store := logbook.NewMemory()
	l, m := demoLog(t, store), heldBy(t, store)
	var take logbook.View
	l.Read(func(b *logbook.Book) { take = b.Records(kinds.Take)[0] })
	seen := m.tag(kinds.Take, take.ID)
	patch := fmt.Sprintf(`"do":"patch","kind":"take","record":"%s","seen":%s,"object":{"state":"noGood"}`, take.ID, seen)
	m.save(m.ask("write", writes(1, patch), nil))
	if f := m.fault("write", writes(2, patch)); f.Type != "stale" {
		t.Errorf("got %+v", f)
	}
	for _, c := range []struct{ name, rest, want string }{
		{"write", `"do":"patch","kind":"take","record":"` + take.ID.String() + `"`, "bad-request"},
		{"write", `"do":"create","kind":"take","object":{"number":1}`, "bad-request"},
		{"write", fmt.Sprintf(`"do":"create","kind":"take","record":"%s","object":{"setUp":"%s","number":1}`, take.ID, take.Ref("setUp")), "exists"},
		{"write", `"do":"burn","kind":"take","record":"` + take.ID.String() + `","seen":` + m.tag(kinds.Take, take.ID), "bad-request"},
		{"event", `"setUp":"` + take.ID.String() + `","event":{"event":"nextTake"}`, "no-record"},
		{"settle", `"discard":"00c0ffee00c0ffee.77"`, "not-refused"},
		{"undo", `"kind":"take","record":"` + take.ID.String() + `","dot":"00c0ffee00c0ffee.77","seen":` + m.tag(kinds.Take, take.ID), "no-record"},
	} {
		if f := m.fault(c.name, writes(2, c.rest)); f.Type != c.want || f.Detail == "" {
			t.Errorf("%s %s: got %+v, want %s", c.name, c.rest, f, c.want)
		}
	}
	if f := m.fault("now", `{"setUp":"`+take.ID.String()+`"}`); f.Type != "bad-request" || !strings.Contains(f.Detail, "now is missing") {
		t.Errorf("got %+v", f)
	}
	if f := new(machine).with(t).fault("state", `{}`); f.Type != "not-open" {
		t.Errorf("got %+v", f)
	}
	if f := m.fault("states", `{}`); f.Type != "bad-request" {
		t.Errorf("got %+v", f)
	}
}

func (m *machine) with(t testing.TB) *machine { m.TB = t; return m }

// Somebody else's edit under the line that this start writes under ends it.
func TestALineThatIsTakenIsOver(t *testing.T) {
	store := logbook.NewMemory()
	l, m := demoLog(t, store), heldBy(t, store)
	setUp := lastSetUp(l)
	event := fmt.Sprintf(`"setUp":"%s","event":{"event":"nextTake"}`, setUp.ID)
	made := m.ask("event", writes(1, event), nil)
	over := func() bool { return m.member("state", `{"line":"00c0ffee00c0ffee"}`, nil, "lineOver") == "true" }
	if m.save(made); over() {
		t.Error("the line is over after its own edits")
	}
	n := len(unframed(t, made.Bytes))
	line, err := logbook.ParseLine("00c0ffee00c0ffee")
	if err != nil {
		t.Fatal(err)
	}
	edit, err := logbook.EncodeEdit(&logbook.Edit{Production: demo.Production, Kind: kinds.SetUp, Record: setUp.ID, Device: phone, At: asked,
		By: "Ada", Dot: logbook.Dot{Line: line, N: uint64(n) + 1}, Set: []logbook.Change{{Field: "name", Value: `"of a copy"`}}})
	if err != nil {
		t.Fatal(err)
	}
	if m.ask("hold", `{}`, frame(nil, edit)); !over() {
		t.Error("another wrote under the line, and it is not over")
	}
}
