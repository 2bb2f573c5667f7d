package demo

import (
	"bytes"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/needed"
)

var loads = regexp.MustCompile(`(?i)(src|href)="[^"]{0,60}|@import|url\(|<script`)

// The page for people has every row and every set-up, and loads nothing.
func TestThePageForPeopleIsWhole(t *testing.T) {
	l := demoLog(t)
	page := demoDocument(t, l, colorlog.Scope{}, "html")
	if !bytes.Equal(page, demoDocument(t, l, colorlog.Scope{}, "html")) {
		t.Error("two pages of one state differ")
	}
	text := strings.ReplaceAll(string(page), "&#43;", "+")
	rows := demoRows(t, l)
	setUps := map[string]bool{}
	for _, r := range rows {
		setUps[r.Find.SetUpRecord.String()] = true
		if !strings.Contains(text, "<bdi>"+r.Find.ClipName+"</bdi>") {
			t.Errorf("the page does not name %s", r.Find.ClipName)
		}
	}
	if got := strings.Count(text, "<section>"); got != len(setUps) {
		t.Errorf("got %d blocks, want one for each of %d set-ups", got, len(setUps))
	}
	if got := strings.Count(text, `src="data:image/svg+xml;base64,`); got != 2*len(setUps) {
		t.Errorf("got %d pictures, want two for each of %d set-ups", got, len(setUps))
	}
	for _, found := range loads.FindAllString(text, -1) {
		if !strings.HasPrefix(found, `src="data:image/svg+xml;base64,`) {
			t.Errorf("the page has %q", found)
		}
	}
	if !strings.HasSuffix(strings.TrimSpace(text), "</html>") || !strings.Contains(text, "Worst first") {
		t.Error("the page has no end, or does not say what is worst")
	}
}

// Printed by a browser on A4 and on Letter, its words come out of the paper again, as another program reads it.
func TestThePageForPeoplePrints(t *testing.T) {
	for _, program := range []string{"chromium", "pdftotext"} {
		needed.Tool(t, program)
	}
	l := demoLog(t)
	document, rows := demoDocument(t, l, colorlog.Scope{}, "html"), demoRows(t, l)
	for _, size := range []struct{ name, points string }{{"A4", "594.96 x 841.92 pts"}, {"Letter", "612 x 792 pts"}} {
		folder := t.TempDir()
		page, paper := filepath.Join(folder, "log.html"), filepath.Join(folder, "log.pdf")
		sized := bytes.Replace(document, []byte("@page{"), []byte("@page{size:"+size.name+";"), 1)
		if err := os.WriteFile(page, sized, 0o600); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+filepath.Join(folder, "profile"),
			"--no-pdf-header-footer", "--print-to-pdf="+paper, "file://"+page)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("chromium: %v\n%s", err, out)
		}
		text, err := exec.Command("pdftotext", "-layout", paper, "-").Output()
		if err != nil {
			t.Fatalf("pdftotext: %v", err)
		}
		pages := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
		for i, words := range pages {
			if strings.TrimSpace(words) == "" {
				t.Errorf("%s: page %d of %d is empty", size.name, i+1, len(pages))
			}
		}
		if len(pages) < 14 || !strings.Contains(pages[0], "How right it was") || !strings.Contains(pages[0], "Worst first") {
			t.Errorf("%s: got %d pages, want a cover and at least one for each of 13 set-ups", size.name, len(pages))
		}
		for _, r := range rows {
			if !strings.Contains(string(text), r.Find.ClipName) {
				t.Errorf("%s: %s is not on paper", size.name, r.Find.ClipName)
			}
		}
		if !strings.Contains(pages[len(pages)-1], "one without this line was cut off") {
			t.Errorf("%s: the last page does not end the document", size.name)
		}
		if info, err := exec.Command("pdfinfo", paper).Output(); err != nil || !strings.Contains(string(info), size.points) {
			t.Errorf("pdfinfo: %v\n%s\nwant %s", err, info, size.points)
		}
		if *look != "" {
			if out, err := exec.Command("pdftoppm", "-r", "60", "-png", paper, filepath.Join(*look, size.name)).CombinedOutput(); err != nil {
				t.Errorf("pdftoppm: %v\n%s", err, out)
			}
		}
	}
}

var look = flag.String("look", "", "draw the printed pages into this folder")
