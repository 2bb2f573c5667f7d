package handover_test

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/states"
)

// logOf is the log of some edits, in the order in which they came.
func logOf(t *testing.T, edits ...[]*logbook.Edit) (logbook.Store, *logbook.Log) {
	t.Helper()
	store := logbook.NewMemory()
	l, err := logbook.OpenLog(store, growth.Production, kinds.Rules, growth.NextLine)
	if err != nil {
		t.Fatal(err)
	}
	for _, some := range edits {
		if _, err := l.Push(some, growth.Production, 9); err != nil {
			t.Fatal(err)
		}
	}
	return store, l
}

func stateOf(t *testing.T, l *logbook.Log) states.State {
	t.Helper()
	head, err := l.Head()
	if err != nil {
		t.Fatal(err)
	}
	var digests states.Digests
	s, err := digests.At(l.Page, l.Production(), head)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// written are all forms of a book, or some.
func written(t *testing.T, from logbook.Lender, s states.State, some ...string) map[string]string {
	t.Helper()
	all := map[string]string{}
	log, err := handover.Of(from, colorlog.Scope{}, colorlog.Origin{Program: "evenwhite test", State: s})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range handover.Forms() {
		if len(some) > 0 && !slices.Contains(some, f.Name) {
			continue
		}
		var out bytes.Buffer
		if err := f.Write(&out, log); err != nil {
			t.Fatal(err)
		}
		all[f.Name] = out.String()
	}
	return all
}

// A colour log of a state is the same bytes once the log has a thousand edits more, where a restored
// log got them in another order and so under other sequences, and on another server.
func TestAStateGivesTheSameBytesForEver(t *testing.T) {
	all := growth.LongJob(2)
	then, later := all[:240], all[240:1240]
	_, l := logOf(t, then)
	s := stateOf(t, l)
	var want map[string]string
	l.Read(func(b *logbook.Book) { want = written(t, b, s) })
	backwards := slices.Clone(then)
	slices.Reverse(backwards)
	for name, came := range map[string][][]*logbook.Edit{
		"a thousand edits later":                         {then, later},
		"restored from a backup of before, and refilled": {then[:100], later, then[100:]},
		"another server, filled by a bundle":             {backwards},
	} {
		t.Run(name, func(t *testing.T) {
			store, l := logOf(t, came...)
			if now := stateOf(t, l); (now.Digest == s.Digest) != (len(came) == 1) {
				t.Errorf("its own state is %s", now)
			}
			b, err := states.Book(store, growth.Production, kinds.Rules, s)
			if err != nil {
				t.Fatal(err)
			}
			got := written(t, b, s)
			for form := range want {
				if got[form] != want[form] {
					t.Errorf("%s: %d bytes differ from the %d of then", form, len(got[form]), len(want[form]))
				}
			}
			if len(came) == 1 {
				return
			}
			l.Read(func(b *logbook.Book) {
				now := written(t, b, stateOf(t, l), "csv")["csv"]
				if strings.Count(now, "\n") <= strings.Count(want["csv"], "\n") {
					t.Error("what came later adds no row: then that the bytes are the same shows nothing")
				}
			})
		})
	}
}

func TestEachFormNamesItsState(t *testing.T) {
	_, l := logOf(t, growth.LongJob(1)[:240])
	s := stateOf(t, l)
	var all map[string]string
	l.Read(func(b *logbook.Book) { all = written(t, b, s) })
	for name, parts := range unpacked(t, all) {
		for _, part := range parts {
			if !strings.Contains(part, s.Key()) {
				t.Errorf("%s: the digest is not in it", name)
			}
		}
	}
	for _, name := range []string{"html", "json", "xlsx", "zip CONTENTS.txt", "csvw"} {
		if parts := unpacked(t, all)[name]; !strings.Contains(strings.Join(parts, ""), s.Words()) {
			t.Errorf("%s: the words are not in it", name)
		}
	}
	for _, name := range []string{"json", "json.gz", "csv", "zip"} {
		file := strings.NewReader(all[name])
		if got, err := handover.StateIn(file, file.Size()); err != nil || got != s.String() {
			t.Errorf("%s: the state read out of it is %q (%v)", name, got, err)
		}
	}
	for _, text := range []string{"", "PK\x03\x04", "\x1f\x8b", "{", `{"rows":[]}`, "clip name,state\r\nA,b\r\n", "[1]"} {
		if got, err := handover.StateIn(strings.NewReader(text), int64(len(text))); err == nil {
			t.Errorf("%q names the state %q", text, got)
		}
	}
}

// unpacked are the texts that must name the state: of the archive its files but for digests and schema.
func unpacked(t *testing.T, all map[string]string) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for name, text := range all {
		switch name {
		case "json.gz":
		case "xlsx":
			var sheets string
			for _, text := range filesIn(t, text) {
				sheets += text
			}
			out[name] = []string{sheets}
		case "zip":
			for file, text := range filesIn(t, text) {
				if file != "SHA256SUMS" && file != "color-log.schema.json" && file != "color-log.xlsx" {
					out["zip "+file] = []string{text}
				}
			}
		default:
			out[name] = []string{text}
		}
	}
	return out
}

func filesIn(t *testing.T, archive string) map[string]string {
	t.Helper()
	r, err := zip.NewReader(strings.NewReader(archive), int64(len(archive)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range r.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(text)
	}
	return files
}
