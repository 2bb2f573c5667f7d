package qr

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

const address = "https://set7.local:8443/pair#Zk3v9dQx0p4Jr7TqYw2LbA"

// reader is another program that reads QR codes.
func reader(t *testing.T) string {
	t.Helper()
	return needed.Tool(t, "zbarimg")
}

// read has the other program read a picture of dark modules.
func read(t *testing.T, size int, dark func(x, y int) bool) string {
	t.Helper()
	const scale = 4
	picture := image.NewGray(image.Rect(0, 0, size*scale, size*scale))
	for y := range size * scale {
		for x := range size * scale {
			if !dark(x/scale, y/scale) {
				picture.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	var file bytes.Buffer
	if err := png.Encode(&file, picture); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "code.png")
	if err := os.WriteFile(path, file.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(reader(t), "--quiet", "--raw", "--nodbus", path).Output()
	if err != nil {
		t.Fatalf("the reader finds no code: %v", err)
	}
	return strings.TrimSuffix(string(out), "\n")
}

func TestAnotherProgramReadsTheCodeOffTheTerminal(t *testing.T) {
	for _, colours := range []bool{false, true} {
		var out bytes.Buffer
		if err := Write(&out, address, colours); err != nil {
			t.Fatal(err)
		}
		text := strings.NewReplacer("\x1b[97;40m", "", "\x1b[0m", "").Replace(out.String())
		if colours == (text == out.String()) {
			t.Errorf("with colours %v, it is %q", colours, out.String()[:20])
		}
		var rows [][]rune
		for line := range strings.Lines(text) {
			rows = append(rows, []rune(strings.TrimSuffix(line, "\n")))
		}
		size := len(rows[0])
		if size > 60 || len(rows) > 30 {
			t.Errorf("it is %d by %d characters; a terminal has 80 by 24 and somewhat more", size, len(rows))
		}
		dark := func(x, y int) bool {
			upper := strings.ContainsRune("▄ ", rows[y/2][x])
			lower := strings.ContainsRune("▀ ", rows[y/2][x])
			return y%2 == 0 && upper || y%2 == 1 && lower
		}
		if got := read(t, size, dark); got != address {
			t.Errorf("with colours %v: got %q, want %q", colours, got, address)
		}
	}
}

func TestAnotherProgramReadsTheDrawing(t *testing.T) {
	text, err := SVG(address, `open <"this"> & pair`)
	if err != nil {
		t.Fatal(err)
	}
	var svg struct {
		ViewBox string `xml:"viewBox,attr"`
		Title   string `xml:"title"`
		Path    struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
	}
	if err := xml.Unmarshal([]byte(text), &svg); err != nil {
		t.Fatal(err)
	}
	if svg.Title != `open <"this"> & pair` || strings.Contains(text, "style=") {
		t.Errorf("the title is %q; a policy that forbids inline styles holds: %v", svg.Title, !strings.Contains(text, "style="))
	}
	var size, again int
	if _, err := fmt.Sscanf(svg.ViewBox, "0 0 %d %d", &size, &again); err != nil || size != again {
		t.Fatalf("the view box is %q (%v)", svg.ViewBox, err)
	}
	marked := map[[2]int]bool{}
	for _, module := range strings.Split(strings.TrimSuffix(svg.Path.D, "z"), "z") {
		var x, y int
		if _, err := fmt.Sscanf(module, "M%d %dh1v1h-1", &x, &y); err != nil {
			t.Fatalf("%q: %v", module, err)
		}
		marked[[2]int{x, y}] = true
	}
	if got := read(t, size, func(x, y int) bool { return marked[[2]int{x, y}] }); got != address {
		t.Errorf("got %q, want %q", got, address)
	}
}

func TestWhatFitsIntoNoCodeIsAnError(t *testing.T) {
	long := strings.Repeat("a", 3000)
	if _, err := SVG(long, "too long"); err == nil {
		t.Error("3000 characters became a drawing")
	}
	if err := Write(&bytes.Buffer{}, long, true); err == nil {
		t.Error("3000 characters became a code")
	}
}
