package logbook_test

import (
	"errors"
	"reflect"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

func TestACopyHoldsAllButWhatIsBrief(t *testing.T) {
	from, to := logbook.NewMemory(), logbook.NewMemory()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(from.Begin(storetest.Production, logbook.Line{1}))
	for n := uint64(1); n <= 3000; n++ {
		_, err := from.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, n, "a lens with a long name, and one more word")})
		must(err)
	}
	_, err := from.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, 1, "a clash"), storetest.Entry(2, 1, "x")})
	must(err)
	must(from.SetAside(storetest.Production, []logbook.Aside{{Entry: storetest.Entry(3, 1, "aside"), Left: true}}))
	must(from.Keep("device/a", []byte("1")))
	must(from.Keep(logbook.BriefUnder+"nonce", []byte("2")))
	n, err := logbook.Copy(from, to)
	must(err)
	if want := (logbook.Copied{Productions: 1, Edits: 3001, Clashes: 1, Asides: 1, Values: 1}); n != want {
		t.Errorf("copied were %+v, want %+v", n, want)
	}
	for what, of := range map[string]func(logbook.Store) (any, error){
		"head":    func(s logbook.Store) (any, error) { return s.Head(storetest.Production) },
		"edits":   func(s logbook.Store) (any, error) { return s.Read(storetest.Production, 0, 1<<30) },
		"clashes": func(s logbook.Store) (any, error) { return s.Clashes(storetest.Production) },
		"asides":  func(s logbook.Store) (any, error) { return s.Asides(storetest.Production) },
		"device":  func(s logbook.Store) (any, error) { return s.Kept("device/a") },
	} {
		want, err := of(from)
		must(err)
		if got, err := of(to); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("the %s are not those of the first store (%v)", what, err)
		}
	}
	if brief, err := to.KeptUnder(logbook.BriefUnder); err != nil || len(brief) > 0 {
		t.Errorf("brief values were copied: %v (%v)", brief, err)
	}
	if _, err := logbook.Copy(from, to); !errors.Is(err, logbook.ErrNotEmpty) {
		t.Errorf("a second copy: got %v, want %v", err, logbook.ErrNotEmpty)
	}
}
