package demo

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/colorlog"
)

var pictures = flag.String("pictures", "", "draw what post gets of the demo into this folder")

// Draws the pictures of the README, by the command that make pictures is. The golden files say whether the forms are
// as they were.
func TestPicturesOfTheForms(t *testing.T) {
	if *pictures == "" {
		t.Skip("not asked for: make pictures draws what post gets")
	}
	folder, err := filepath.Abs(*pictures)
	if err != nil {
		t.Fatal(err)
	}
	l := demoLog(t)
	document := func(format string) []byte { return demoDocument(t, l, colorlog.Scope{}, format) }
	work := t.TempDir()
	run := func(name string, args ...string) {
		cmd := exec.Command(name, args...)
		cmd.Dir = work
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
	}
	shoot := func(name string, page []byte, height int) {
		if err := os.WriteFile(filepath.Join(work, name+".html"), page, 0o600); err != nil {
			t.Fatal(err)
		}
		run("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--user-data-dir="+filepath.Join(work, "profile"),
			fmt.Sprintf("--window-size=900,%d", height), "--screenshot="+filepath.Join(folder, name+".png"),
			"file://"+filepath.Join(work, name+".html"))
	}
	text := func(lines ...string) []byte {
		return []byte("<!DOCTYPE html><meta charset=utf-8><style>body{margin:12px}" +
			"pre{font:11px/1.4 monospace;white-space:pre;overflow:hidden}</style><pre>" + html.EscapeString(strings.Join(lines, "\n")))
	}
	shoot("html", document("html"), 640)
	shoot("csv", text(first(document("csv"), 14)...), 250)
	var indented bytes.Buffer
	if err := json.Indent(&indented, document("json"), "", "  "); err != nil {
		t.Fatal(err)
	}
	shoot("json", text(first(indented.Bytes(), 26)...), 430)
	files := unpacked(t, document("zip"))
	shoot("zip", text(first(files["CONTENTS.txt"], 30)...), 420)
	shoot("ccc", text(first(files["cdl/to-intent-bt-1886-bt-709.ccc"], 22)...), 370)
	if err := os.WriteFile(filepath.Join(work, "log.xlsx"), document("xlsx"), 0o600); err != nil {
		t.Fatal(err)
	}
	run("soffice", "-env:UserInstallation=file://"+filepath.Join(work, "calc"), "--headless", "--convert-to", "pdf", "log.xlsx")
	run("pdftoppm", "-r", "72", "-f", "1", "-l", "1", "-singlefile", "-png", "log.pdf", filepath.Join(folder, "xlsx"))
}

func first(text []byte, lines int) []string {
	all := strings.Split(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n")
	return all[:min(lines, len(all))]
}
