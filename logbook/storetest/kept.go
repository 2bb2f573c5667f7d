package storetest

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"evenwhite/logbook"
)

func keptPromises() []promise {
	return []promise{
		{"small values are kept under names", valuesAreKept},
		{"names with a prefix are listed in order", namesAreListed},
		{"a name that is empty or too long is refused", namesHaveALength},
		{"a kept value is the caller's own", keptCopies},
		{"a note is kept in one commit with its entry, or not at all", notesAreKept},
	}
}

func keep(t *testing.T, s logbook.Store, name, value string) {
	t.Helper()
	if err := s.Keep(name, []byte(value)); err != nil {
		t.Fatal(err)
	}
}

func valuesAreKept(t *testing.T, s logbook.Store) {
	keep(t, s, "device/a", "1")
	keep(t, s, "device/a", "3")
	keep(t, s, "device/empty", "")
	for name, want := range map[string]any{
		"device/a": []byte("3"), "device/empty": []byte{}, "device": []byte(nil), "device/b": []byte(nil), "": []byte(nil),
	} {
		if got, err := s.Kept(name); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%q: got %#v (%v), want %#v", name, got, err, want)
		}
	}
	for range 2 { // removing what is not there is no error
		if err := s.Keep("device/a", nil); err != nil {
			t.Fatal(err)
		}
		if got, err := s.Kept("device/a"); err != nil || got != nil {
			t.Errorf("got %q (%v) after its removal, want nothing", got, err)
		}
	}
}

func namesAreListed(t *testing.T, s logbook.Store) {
	for _, name := range []string{"device/b", "devicf", "device/a", "device", "key/jwt", "device/ä", "\xff\xff"} {
		keep(t, s, name, "of "+name)
	}
	for prefix, want := range map[string][]string{
		"device/": {"device/a", "device/b", "device/ä"},
		"":        {"device", "device/a", "device/b", "device/ä", "devicf", "key/jwt", "\xff\xff"},
		"\xff":    {"\xff\xff"},
		"none":    nil,
	} {
		got, err := s.KeptUnder(prefix)
		var names []string
		for _, k := range got {
			names = append(names, k.Name)
			if string(k.Value) != "of "+k.Name {
				t.Errorf("%q has the value %q", k.Name, k.Value)
			}
		}
		if err != nil || !reflect.DeepEqual(names, want) {
			t.Errorf("under %q are %q (%v), want %q", prefix, names, err, want)
		}
	}
}

func namesHaveALength(t *testing.T, s logbook.Store) {
	keep(t, s, strings.Repeat("n", 1000), "x")
	for _, name := range []string{"", strings.Repeat("n", 1001)} {
		if err := s.Keep(name, []byte("x")); !errors.Is(err, logbook.ErrRequest) {
			t.Errorf("a name of %d bytes: got %v, want %v", len(name), err, logbook.ErrRequest)
		}
	}
	if got, err := s.KeptUnder(""); err != nil || len(got) != 1 {
		t.Errorf("kept are %d values (%v), want one", len(got), err)
	}
}

func notesAreKept(t *testing.T, s logbook.Store) {
	begin(t, s)
	keep(t, s, "old", "1")
	noted := func(e logbook.Entry, name, value string) logbook.Entry {
		e.Notes = append(e.Notes, logbook.KeptValue{Name: name, Value: []byte(value)})
		return e
	}
	first := noted(Entry(1, 1, "a"), "first", "of 1")
	first.Notes = append(first.Notes, logbook.KeptValue{Name: "old"})
	add(t, s, first, noted(Entry(1, 2, "b"), "second", "of 2"))
	add(t, s, noted(Entry(1, 1, "a"), "first", "of a repeat"), noted(Entry(1, 2, "c"), "second", "of a clash"))
	wrong := noted(Entry(1, 3, "d"), "third", "of 3")
	for name, fault := range map[string]logbook.Entry{"": noted(Entry(1, 4, "e"), "", "x"), "third": {Dot: logbook.Dot{N: 4}}} {
		if _, err := s.Append(Production, []logbook.Entry{wrong, fault}); err == nil {
			t.Errorf("an entry that is none, or a note without a name, was taken: %q", name)
		}
	}
	kept, err := s.KeptUnder("")
	want := []logbook.KeptValue{{Name: "first", Value: []byte("of 1")}, {Name: "second", Value: []byte("of 2")}}
	if err != nil || !reflect.DeepEqual(kept, want) {
		t.Errorf("kept are %q (%v), want %q", kept, err, want)
	}
}

func keptCopies(t *testing.T, s logbook.Store) {
	value := []byte("secret")
	if err := s.Keep("key", value); err != nil {
		t.Fatal(err)
	}
	clear(value)
	for n := range 60 {
		keep(t, s, fmt.Sprint("other ", n), strings.Repeat("x", 100))
	}
	for round := range 2 {
		got, err := s.Kept("key")
		under, underErr := s.KeptUnder("key")
		err = errors.Join(err, underErr)
		if err != nil || fmt.Sprint(string(got), len(under)) != "secret1" || string(under[0].Value) != "secret" {
			t.Fatalf("round %d: got %q and %v (%v), want secret", round, got, under, err)
		}
		clear(got)
		clear(under[0].Value)
	}
}
