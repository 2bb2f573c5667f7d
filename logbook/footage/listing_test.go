package footage

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

// told writes the recordings of listings: folder/name, files, size and time.
func told(t *testing.T, form Form, listings ...string) string {
	t.Helper()
	c := NewCollection()
	for _, listing := range listings {
		if err := c.Read(strings.NewReader(listing), form); err != nil {
			t.Fatal(err)
		}
	}
	var out []string
	for _, r := range c.Recordings(func(name string) bool { return strings.HasPrefix(name, "A001C") }) {
		text := r.Folder + "/" + r.Name
		if r.Size >= 0 {
			text += fmt.Sprintf(" %d", r.Size)
		}
		if r.At.said() {
			text += time.UnixMilli(r.At.at).UTC().Format(" 2006-01-02 15:04:05")
		}
		if r.Files > 1 {
			text += fmt.Sprintf(" files=%d", r.Files)
		}
		if r.Copies > 0 {
			text += fmt.Sprintf(" copies=%d", r.Copies)
		}
		if r.Hash != "" {
			text += " " + r.Hash[:4]
		}
		if (r.Said != Settings{}) {
			text += fmt.Sprint(" ", r.Said)
		}
		out = append(out, text)
	}
	return strings.Join(out, "\n")
}

const sum = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

func TestFormsOfListings(t *testing.T) {
	around := Form{Around: logbook.MillisOf(time.Date(2031, 1, 2, 0, 0, 0, 0, time.UTC))}
	for _, c := range []struct {
		name, listing string
		form          Form
		want          string
	}{
		{"find", "./d\n./d/A.mov\n./d/B B.mov\n", Form{}, "d/A\nd/B B"},
		{"find -printf, size and seconds", "12 1767225600.5000000000 /d/A.mov\n7 1767225660.0000000000 /d/1 B.mov\n", Form{},
			"/d/1 B 7 2026-01-01 00:01:00\n/d/A 12 2026-01-01 00:00:00"},
		{"find -printf, time, size, tabs", "2026-01-01+10:00:00.1234567890\t12\t/d/A.mov\n", Form{}, "/d/A 12 2026-01-01 10:00:00"},
		{"find -printf, date and time apart", "2026-01-01 10:00:00.1234567890 12 /d/A.mov\n", Form{}, "/d/A 12 2026-01-01 10:00:00"},
		{"find -printf, the path first", "/d/1 B 1767225600.5000000000\n/d/1 B/A 2.mov 1767225660.0000000000\n", Form{},
			"/d/1 B/A 2 2026-01-01 00:01:00"},
		{"find -printf, path, size, time", "/d/A.mov 12 2026-01-01+10:00:00.1234567890\n", Form{}, "/d/A 12 2026-01-01 10:00:00"},
		{"find -printf, only sizes", "12 ./A.mov\n", Form{}, "/A 12"},
		{"find -ls", "  1179668      4 drwxr-xr-x   2 ada      set          4096 Dec 31 10:00 /d\n" +
			"  1179669      4 -rw-r--r--   1 ada      set            12 Dec 31 10:05 /d/A\\ B.mov\n", around, "/d/A B 12 2030-12-31 10:05:00"},
		{"find -ls of last year", "  1179669      4 -rw-r--r--   1 ada set 12 Dec 31  2029 /d/A.mov\n", around, "/d/A 12"},
		{"ls -R", ".:\nd\n\n./d:\nA.mov\nB.mov\nC\n\n./d/C:\nD.mov\n", Form{}, "d/A\nd/B\nd/C/D"},
		{"ls -lR", "./d:\ntotal 8\n-rw-r--r-- 1 ada set 12 Jan  1 10:05 A B.mov\ndrwxr-xr-x 1 ada set 12 Jan  1 10:05 C\n", around, "d/A B 12 2031-01-01 10:05:00"},
		{"ls -lR --full-time", "./d:\ntotal 8\n-rw-r--r-- 1 ada set 12 2031-01-01 10:05:33.000000000 +0100 A.mov\n", Form{}, "d/A 12 2031-01-01 09:05:33"},
		{"ls -lR, long-iso", "./d:\ntotal 8\n-rw-r--r-- 1 ada set 12 2031-01-01 10:05 A.mov\n", Form{}, "d/A 12 2031-01-01 10:05:00"},
		{"sha256sum", sum + "  ./d/A.mov\n\\" + sum + " *d/B\\nC.mov\n", Form{}, "d/A 0123\nd/B\nC 0123"},
		{"md5sum, with the name first", "MD5 (d/A.mov) = " + sum[:32] + "\n", Form{}, "d/A 0123"},
		{"lines end as on Windows", "/d/A.mov\r\n/d/B.mov\r\n", Form{}, "/d/A\n/d/B"},
		{"CSV", "Clip;Folder;When;K;T;Glass\n\"A;1.mov\";D:\\x;2031-01-01 10:05:33;4300 K;+2;35 mm\n", Form{Columns: Columns{
			Name: "clip", Folder: "Folder", Time: "When", Kelvin: "K", Tint: "T", Lens: "Glass"}}, "D:/x/A;1 2031-01-01 10:05:33 {4300 2 35 mm}"},
		{"CSV with a line break in a name", "Clip,Bytes\r\n\"a\nb\"\"c.mov\",12\r\n=1+1.mov,5\r\n",
			Form{Columns: Columns{Name: "Clip", Size: "Bytes"}}, "/=1+1 5\n/a\nb\"c 12"},
		{"ASC MHL", `<?xml version="1.0"?><hashlist version="2.0" xmlns="urn:ASC:MHL:v2.0"><creatorinfo><creationdate>2031-01-01T11:00:00+01:00</creationdate></creatorinfo>
			<hashes><hash><path size="12" lastmodificationdate="2031-01-01T10:05:33+01:00">d/A &amp; B.mov</path><xxh64 action="original">0ea03b369a463d9d</xxh64></hash>
			<directoryhash><path>d</path><content><xxh64>0ea03b369a463d9d</xxh64></content></directoryhash></hashes></hashlist>`, Form{},
			"d/A & B 12 2031-01-01 09:05:33 0ea0"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := told(t, c.form, c.listing); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

// What belongs together is one recording.
func TestFilesBecomeRecordings(t *testing.T) {
	frames := ""
	for i := range 30 {
		frames += fmt.Sprintf("100 %d.0 /d/A001/A001C003_31/A001C003_31.%07d.dng\n", 1767225600+i, i+86400)
		frames += fmt.Sprintf("100 %d.0 /d/A001/A001C004_31/%07d.exr\n", 1767225700+i, i)
	}
	for _, c := range []struct{ name, listing, want string }{
		{"sidecars and hidden files", "/d/A.mov\n/d/A.xml\n/d/._A.mov\n/d/notes.txt\n/d/S.wav\n", "/d/A"},
		{"the frames of a sequence", frames, "/d/A001/A001C003_31 3000 2026-01-01 00:00:00 files=30\n/d/A001/A001C004_31 3000 2026-01-01 00:01:40 files=30"},
		{"parts in a folder named like the clip", "/d/A001/A001C001.rdx/A001C001_001.rr\n/d/A001/A001C001.rdx/A001C001_002.rr\n", "/d/A001/A001C001 files=2"},
		{"a folder named like a clip, which lies there empty", "/d/A001C001\n/d/A001C001/x.txt\n/d/A001C002.mov\n", "/d/A001C002"},
		{"proxies", "/d/C/A001C001.mov\n/d/proxy/A001C001.mp4\n/d/C/A001C002.mov\n/d/C/A001C002_proxy.mov\n/d/Sub/A001C001S03.mp4\n",
			"/d/C/A001C001 files=3\n/d/C/A001C002 files=2"},
		{"proxies alone are recordings", "/d/proxy/A001C001.mp4\n", "/d/proxy/A001C001"},
		{"copies", sum + "  /v1/A.mov\n" + sum + "  /v2/A.mov\n", "/v1/A 0123\n/v2/A 0123"},
		{"copies with sizes", "5 1767225600.0 /v1/A.mov\n5 1767225601.0 /v2/A.mov\n5 1767229600.0 /v3/A.mov\n",
			"/v1/A 5 2026-01-01 00:00:00 copies=1\n/v3/A 5 2026-01-01 01:06:40"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := told(t, Form{}, c.listing); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
	t.Run("a table without folders joins what has them", func(t *testing.T) {
		c := NewCollection()
		for _, err := range []error{
			c.Read(strings.NewReader("5 1767225600.0 /v1/A.mov\n"), Form{}),
			c.Read(strings.NewReader("Clip,K\nA.mov,4300\n"), Form{Columns: Columns{Name: "Clip", Kelvin: "K"}}),
		} {
			if err != nil {
				t.Fatal(err)
			}
		}
		all := c.Recordings(func(string) bool { return false })
		if len(all) != 1 || all[0].Said.Kelvin != "4300" || all[0].Size != 5 {
			t.Errorf("got %+v, want one recording of both", all)
		}
	})
}

// What is no listing is refused with the line, what stands there, and what may.
func TestBadListings(t *testing.T) {
	table := Form{Columns: Columns{Name: "Clip", Time: "When", Kelvin: "K", Size: "Bytes", Lens: "Lens"}}
	for _, c := range []struct {
		name, listing string
		form          Form
		line          int
		words         string
	}{
		{"nothing", "", Form{}, 1, "a listing with at least one file"},
		{"white space", " \n\n", Form{}, 1, "a listing with at least one file"},
		{"cut off", "/d/A.mov\n/d/B", Form{}, 2, "/d/B; allowed: a line that ends: the listing may have been cut off"},
		{"a line of 1 MB", "/d/A.mov\n" + strings.Repeat("x", 1<<20) + "\n", Form{}, 2, "a line of at most 32768 bytes"},
		{"zero bytes", "/d/A.mov\x00/d/B.mov\x00\n", Form{}, 1, "what ls -R"},
		{"a sum without a name", sum + "  /d/A.mov\n" + sum + "\n", Form{}, 2, "all of one listing are alike"},
		{"a line of another kind", "5 1767225600.0 /d/A.mov\nfind: /d/x: Permission denied\n", Form{}, 2, "all of one listing are alike"},
		{"signs that turn the writing", "5 1767225600.0 /d/A.mov\n\u202evom.A\x1b[31m\n", Form{}, 2, `\u202evom.A\u001b[31m; allowed`},
		{"no such column", "Name,When\n", table, 1, "Clip; allowed: a column of the table: Name, When"},
		{"cells too few", "Clip,When,K,Bytes,Lens\nA,\n", table, 2, "as many cells in each line"},
		{"a quote that does not end", "Clip,When,K,Bytes,Lens\n\"A,,,,\n", table, 2, "quotes doubled within quotes"},
		{"a formula for a kelvin", "Clip,When,K,Bytes,Lens\nA,,=4300,,\n", table, 2, "=4300; allowed: kelvin: a number from 1000 to 25000"},
		{"a kelvin that cannot be", "Clip,When,K,Bytes,Lens\nA,,NaN,,\n", table, 2, "kelvin: a number"},
		{"a day before the month", "Clip,When,K,Bytes,Lens\nA,03/04/31 10:05,,,\n", table, 2, "allowed: a time such as"},
		{"a size below nothing", "Clip,When,K,Bytes,Lens\nA,,,-1,\n", table, 2, "a size in bytes"},
		{"no name", "Clip,When,K,Bytes,Lens\n,,4300,,\n", table, 2, "the name of a file in each line"},
		{"a cell of 1 MB", "Clip,When,K,Bytes,Lens\n\"" + strings.Repeat("x", 1<<20) + "\",,,,\n", table, 2, "a line of at most 32768 bytes"},
		{"entities", `<!DOCTYPE hashlist [<!ENTITY a "aaaaaaaa">]><hashlist version="2.0"><hashes><hash><path>&a;</path></hash></hashes></hashlist>`, Form{}, 1,
			"no document type and no entities"},
		{"an entity of nobody", `<hashlist version="2.0"><hashes><hash><path>&a;</path></hash></hashes></hashlist>`, Form{}, 1, "without entities of its own"},
		{"another version", `<hashlist version="1.1"></hashlist>`, Form{}, 1, `<hashlist version="1.1">; allowed: an ASC MHL`},
		{"other XML", `<html></html>`, Form{}, 1, "an ASC MHL hash list of version 2"},
		{"XML that is cut off", `<hashlist version="2.0"><hashes><hash><path>d/A.mov</path>`, Form{}, 1, "whole and without entities"},
		{"XML without end", "<hashlist version=\"2.0\">" + strings.Repeat("<a>", 100), Form{}, 1, "at most 24 deep"},
		{"a hash of nothing", `<hashlist version="2.0"><hashes><hash></hash></hashes></hashlist>`, Form{}, 1, "a hash without a path"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := NewCollection().Read(strings.NewReader(c.listing), c.form)
			var at *ListingError
			if !errors.As(err, &at) || at.Line != c.line || !strings.Contains(err.Error(), c.words) {
				t.Errorf("got %v, want line %d and %q", err, c.line, c.words)
			}
			if err != nil && (len(err.Error()) > 400 || strings.ContainsAny(err.Error(), "\u202e\x1b")) {
				t.Errorf("the error is %d bytes long, or holds what a terminal obeys: %q", len(err.Error()), err)
			}
		})
	}
	t.Run("300 MB", func(t *testing.T) {
		endless := &again{text: "/d/" + strings.Repeat("long/", 800) + "A001C001_3103.0000001.dng\n"}
		err := NewCollection().Read(io.LimitReader(endless, 300<<20), Form{})
		if !errors.Is(err, ErrTooLong) || !strings.Contains(err.Error(), "64 MiB") {
			t.Errorf("got %v, want it too long", err)
		}
	})
	t.Run("more recordings than are looked at", func(t *testing.T) {
		c := NewCollection()
		var err error
		for i := 0; err == nil && i < mostRecordings+2; i++ {
			err = c.add(entry{path: fmt.Sprintf("d/%d.mov", i), size: -1})
		}
		if !errors.Is(err, ErrTooLong) || len(c.found) > mostRecordings {
			t.Errorf("got %v with %d recordings", err, len(c.found))
		}
	})
}

// again is a text without end.
type again struct {
	text string
	at   int
}

func (r *again) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = r.text[(r.at+i)%len(r.text)]
	}
	r.at = (r.at + len(p)) % len(r.text)
	return len(p), nil
}

// The programs of this machine list a folder, and each listing has the same recordings.
func TestListingsOfThisMachine(t *testing.T) {
	folder := t.TempDir()
	when := time.Date(2031, 3, 4, 10, 5, 33, 0, time.UTC)
	names := []string{"A001/A001C001.mov", "A001/A001C002 b.mov", "B ö/C0001.MP4", "B ö/C0001.XML", "A001/it's \"one\"; really.mov"}
	for i, name := range names {
		path := filepath.Join(folder, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(strings.Repeat("x", i+1)), 0o644),
			os.Chtimes(path, when, when.Add(time.Duration(i)*time.Minute))); err != nil {
			t.Fatal(err)
		}
	}
	want := "A001/A001C001, A001/A001C002 b, A001/it's \"one\"; really, B ö/C0001"
	for _, c := range []struct {
		command      string
		sized, dated bool
	}{
		{"find . -type f", false, false}, {"find .", false, false}, {"ls -R .", false, false}, {"ls -1R", false, false},
		{"find . -type f -printf '%s %T@ %p\\n'", true, true}, {"find . -printf '%T+ %s %p\\n'", true, true}, {"find . -ls", true, false},
		{"find . -printf '%p %T@\\n'", false, true}, {"find . -type f -printf '%p %s %T+\\n'", true, true},
		{"ls -lR --full-time", true, true}, {"ls -lR --time-style=long-iso .", true, true}, {"find . -type f -exec sha256sum {} +", false, false},
		{"find . -type f -exec md5sum -b {} +", false, false}, {"find . -type f -exec sha1sum --tag {} +", false, false},
	} {
		shell := exec.Command("sh", "-c", c.command)
		shell.Dir, shell.Env = folder, append(os.Environ(), "LC_ALL=C.UTF-8", "TZ=UTC")
		out, err := shell.Output()
		if err != nil {
			t.Skipf("SKIPPED, NOT CHECKED: %s is not here as GNU has it: %v", c.command, err)
		}
		list := NewCollection()
		if err := list.Read(strings.NewReader(string(out)), Form{Around: logbook.MillisOf(when)}); err != nil {
			t.Errorf("%s: %v", c.command, err)
			continue
		}
		var got []string
		for _, r := range list.Recordings(func(string) bool { return false }) {
			got = append(got, r.Folder+"/"+r.Name)
			if (r.Size > 0) != c.sized || c.dated && r.At.at/60_000 < when.UnixMilli()/60_000 {
				t.Errorf("%s: %s has size %d and time %v", c.command, r.Name, r.Size, r.At)
			}
		}
		if text := strings.Join(got, ", "); text != want {
			t.Errorf("%s: got %s\nwant %s", c.command, text, want)
		}
	}
}

// No listing makes the reader fail otherwise than with a line, and none makes a name that cannot be shown.
func FuzzListing(f *testing.F) {
	for _, text := range []string{"/d/A.mov\n", "5 1767225600.0 /d/A.mov\n", sum + "  a\n", ".:\na\n",
		"<hashlist version=\"2.0\"><hash><path>a</path></hash></hashlist>",
		"  1 4 -rw-r--r-- 1 a b 12 Dec 31 10:05 /d/A\\040B.mov\n", "Clip,K\nA,4300\n"} {
		f.Add(text, false)
		f.Add(text, true)
	}
	f.Fuzz(func(t *testing.T, text string, table bool) {
		form := Form{}
		if table {
			form.Columns = Columns{Name: "Clip", Kelvin: "K"}
		}
		c := NewCollection()
		err := c.Read(strings.NewReader(text), form)
		var at *ListingError
		if err != nil && !errors.As(err, &at) {
			t.Fatalf("an error without a line: %v", err)
		}
		if err != nil && (at.Line < 1 || at.Allowed == "") {
			t.Fatalf("an error that says too little: %#v", err)
		}
		Join(card("0:A001C001 1:A001C002"), c)
	})
}
