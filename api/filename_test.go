package api

import (
	"mime"
	"strings"
	"testing"

	"evenwhite/logbook"
)

func TestADownloadIsNamedInEveryScript(t *testing.T) {
	one, other := logbook.ID{15: 0xab, 6: 0x70}, logbook.ID{15: 0xcd, 6: 0x70}
	for _, c := range []struct {
		title, short string
		production   logbook.ID
		ascii, whole string
	}{
		{"The Lighthouse", "LH", one, "lh-edits.bundle", "The Lighthouse-edits.bundle"},
		{"夜の渡し船", "", one, "production-000000ab-edits.bundle", "夜の渡し船-edits.bundle"},
		{"Ночной паром", "", other, "production-000000cd-edits.bundle", "Ночной паром-edits.bundle"},
		{"", "", one, "production-000000ab-edits.bundle", ""},
		{"../a\\b\"c\r\nd", "Ω\"", one, "production-000000ab-edits.bundle", "abcd-edits.bundle"},
		{strings.Repeat("é", 300), "x", one, "x-edits.bundle", strings.Repeat("é", 60) + "-edits.bundle"},
	} {
		got := disposition(c.title, c.short, c.production, "edits.bundle")
		plain, extended, _ := strings.Cut(got, "; filename*=")
		kind, names, err := mime.ParseMediaType(plain)
		if err != nil || kind != "attachment" || names["filename"] != c.ascii {
			t.Errorf("%q: got %s (%v), want the ASCII name %s", c.title, got, err, c.ascii)
		}
		if c.whole == "" {
			if extended != "" {
				t.Errorf("%q: got %s, want no second name", c.title, got)
			}
			continue
		}
		_, names, err = mime.ParseMediaType("attachment; filename*=" + extended)
		if err != nil || names["filename"] != c.whole {
			t.Errorf("%q: got %q (%v), want %q", c.title, names["filename"], err, c.whole)
		}
	}
}
