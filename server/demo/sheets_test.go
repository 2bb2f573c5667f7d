package demo

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/needed"
	"evenwhite/logbook/paper"
	"evenwhite/logbook/rebuild"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/wrap"
)

// named finds a record of the demo by the name that people call it.
func named(t *testing.T, b *logbook.Book, kind logbook.Kind, name string) logbook.ID {
	t.Helper()
	for _, v := range b.Records(kind) {
		number, _ := v.Value("number").Number()
		if kind == kinds.SetUp && lighting.SetUpName(b, v) == name || kind == kinds.Scene && v.Text("name") == name ||
			kind == kinds.Day && number == name {
			return v.ID
		}
	}
	t.Fatalf("the demo has no %s %s", kind, name)
	return logbook.ID{}
}

// sheets are the pages of the demo, each by the name of its golden file.
func sheets(t *testing.T, b *logbook.Book) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	put := func(name string, write func(io.Writer) error) {
		var page bytes.Buffer
		if err := write(&page); err != nil {
			t.Fatal(err)
		}
		out[name] = page.Bytes()
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, setUp := range []string{"12 A", "31 A", "52 D"} {
		sheet, err := rebuild.Of(b, rebuild.Query{SetUp: named(t, b, kinds.SetUp, setUp)}, asWritten)
		must(err)
		put("rebuild-"+strings.ReplaceAll(setUp, " ", "-")+".html", func(w io.Writer) error { return paper.Rebuild(w, sheet) })
	}
	apart, err := rebuild.Compare(b, rebuild.Query{SetUp: named(t, b, kinds.SetUp, "12 C")}, rebuild.Query{}, asWritten)
	must(err)
	put("apart-12-C.html", func(w io.Writer) error { return paper.Apart(w, apart) })
	scene, err := rebuild.OfScene(b, named(t, b, kinds.Scene, "52"), asWritten)
	must(err)
	put("continuity-52.html", func(w io.Writer) error { return paper.Scene(w, scene) })
	list, err := rigging.ListOfDay(b, named(t, b, kinds.Day, "1"), asWritten)
	must(err)
	put("rigging-1.html", func(w io.Writer) error { return paper.Rigging(w, list) })
	check, err := wrap.Of(b, named(t, b, kinds.Day, "2"), wrap.Known{}, asWritten)
	must(err)
	put("wrap-2.json", func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(check)
	})
	return out
}

func TestTheDemosSheetsAreTheGoldenOnes(t *testing.T) {
	demoLog(t).Read(func(b *logbook.Book) {
		for name, got := range sheets(t, b) {
			path := filepath.Join(goldenFolder, "sheets", name)
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("%s differs from what the program writes; go test ./server/demo "+
					"-run Golden -update writes it anew, git diff shows what changed", path)
			}
			for _, found := range loads.FindAllString(string(got), -1) {
				t.Errorf("%s has %q: a page loads nothing", name, found)
			}
		}
	})
}

// word is one that stands on a printed page, with its place in points.
var word = regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="[0-9.]+" xMax="([0-9.]+)" yMax="[0-9.]+">([^<]*)</word>`)

var sizeOfPage = regexp.MustCompile(`<page width="([0-9.]+)"`)

// Printed by a browser on A4 and US Letter, each page keeps its words, and none runs over the edge.
func TestTheDemosSheetsPrint(t *testing.T) {
	for _, tool := range []string{"chromium", "pdftotext"} {
		needed.Tool(t, tool)
	}
	// One document with all pages on both papers: starting a browser is what costs.
	var all strings.Builder
	var titles []string
	demoLog(t).Read(func(b *logbook.Book) {
		for name, page := range sheets(t, b) {
			if !strings.HasSuffix(name, ".html") {
				continue
			}
			head, rest, _ := strings.Cut(string(page), "<body>")
			body, _, whole := strings.Cut(rest, "</body>")
			if !whole {
				t.Fatalf("%s has no end", name)
			}
			if all.Len() == 0 {
				all.WriteString(strings.Replace(head, "@page{", "@page a4{size:A4}@page letter{size:letter}@page{", 1) + "<body>")
			}
			titles = append(titles, strings.TrimSuffix(name, ".html"))
			all.WriteString(`<div style="page:a4">` + body + `</div><div style="page:letter">` + body + `</div>`)
		}
	})
	folder := t.TempDir()
	page, sheet := filepath.Join(folder, "all.html"), filepath.Join(folder, "all.pdf")
	if err := os.WriteFile(page, []byte(all.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	run := func(name string, args ...string) []byte {
		out, err := exec.Command(name, args...).Output()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return out
	}
	run("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+filepath.Join(folder, "profile"),
		"--no-pdf-header-footer", "--print-to-pdf="+sheet, "file://"+page)
	sizes, seen := map[string]int{}, map[string]int{}
	for _, printed := range strings.SplitAfter(string(run("pdftotext", "-bbox", sheet, "-")), "</page>") {
		size := sizeOfPage.FindStringSubmatch(printed)
		if size == nil {
			continue
		}
		sizes[strings.TrimSuffix(size[1], ".000000")]++
		width, _ := strconv.ParseFloat(size[1], 64)
		const margin = 12 / 25.4 * 72
		for _, w := range word.FindAllStringSubmatch(printed, -1) {
			left, _ := strconv.ParseFloat(w[1], 64)
			right, _ := strconv.ParseFloat(w[2], 64)
			if seen[w[3]]++; left < margin-1 || right > width-margin+1 {
				t.Errorf("%q runs from %.0f to %.0f on a page of %.0f points", w[3], left, right, width)
			}
		}
	}
	if n := len(titles); len(sizes) != 2 || sizes["612"] < n {
		t.Errorf("got pages %v, want at least %d of each of two papers", sizes, n)
	}
	for word, least := range map[string]int{"Continuity": 2, "Rigging": 2, "against": 2, "eighth": 4, "Mains": 6} {
		if seen[word] < least {
			t.Errorf("%q stands %d times on paper, want %d", word, seen[word], least)
		}
	}
}
