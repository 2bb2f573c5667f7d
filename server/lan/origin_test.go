package lan

import (
	"strings"
	"testing"
)

func TestAnOriginIsWrittenAsBrowsersWriteIt(t *testing.T) {
	for _, c := range []struct {
		o    Origin
		want string
	}{
		{Origin{"set7", 8443}, "https://set7.local:8443"},
		{Origin{"set7", 443}, "https://set7.local"},
		{Origin{"set.example.org", 8443}, "https://set.example.org:8443"},
	} {
		if got := c.o.String(); got != c.want {
			t.Errorf("%+v: got %s, want %s", c.o, got, c.want)
		}
		b, err := c.o.MarshalBinary()
		var read Origin
		if err == nil {
			err = read.UnmarshalBinary(b)
		}
		if err != nil || read != c.o {
			t.Errorf("%+v is kept as %s and read as %+v (%v)", c.o, b, read, err)
		}
	}
	if err := new(Origin).UnmarshalBinary([]byte("set7")); err == nil {
		t.Error("what is no origin was read")
	}
}

func TestANameIsCheckedBeforeItIsUsed(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"set7", "set7"}, {"Set7", "set7"}, {"SET7.local", "set7"}, {"set7.local.", "set7"}, {"7", "7"}, {"a-b", "a-b"},
		{strings.Repeat("a", 63), strings.Repeat("a", 63)},
	} {
		if got, err := CheckName(c.typed, false); err != nil || got != c.want {
			t.Errorf("%q: got %q (%v), want %q", c.typed, got, err, c.want)
		}
	}
	for _, c := range []struct{ typed, want string }{
		{"", "(0 characters)"}, {"Büro", "ä is written ae"}, {"set 7", "allowed are 1 to 63"}, {"-set", "no hyphen first or last"},
		{"set-", "no hyphen first or last"}, {"set_7", "letters a to z"}, {"set.seven", "has dots"}, {"set.seven.local", "has dots"},
		{strings.Repeat("a", 64), "(64 characters)"}, {strings.Repeat("ä", 5000), "(5000 characters)"},
	} {
		_, err := CheckName(c.typed, false)
		if err == nil || !strings.Contains(err.Error(), c.want) || len(err.Error()) > 500 {
			t.Errorf("%q: got %v, want %s", c.typed, err, c.want)
		}
	}
	for typed, want := range map[string]string{"Set.Example.org": "set.example.org", "a.set7.local": "a.set7.local", "set7.local": "set7"} {
		if got, err := CheckName(typed, true); err != nil || got != want {
			t.Errorf("%q as a whole name: got %q (%v), want %q", typed, got, err, want)
		}
	}
	for _, typed := range []string{"set..org", ".org", strings.Repeat("a.", 127) + "org"} {
		if _, err := CheckName(typed, true); err == nil {
			t.Errorf("%q is taken for a whole name", typed)
		}
	}
}
