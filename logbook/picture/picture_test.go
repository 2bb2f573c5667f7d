package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// TestGoldenPictures holds pictures that somebody has looked at. Written anew they
// are to be looked at again.
func TestGoldenPictures(t *testing.T) {
	for name, got := range map[string][]byte{
		"plane.svg": Plane(jetty()), "drift.svg": Drift(afternoon(), time.UTC), "swatches.svg": Swatches(screens()),
	} {
		path := filepath.Join("testdata", name)
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
			t.Errorf("%s is not what is drawn; go test ./logbook/picture -update writes it anew, then look at it", name)
		}
		mustBePicture(t, got)
	}
}

// element is a start tag of a picture; text what follows it.
type element struct {
	name string
	at   map[string]string
	text string
}

func parse(t rapid.TB, svg []byte) (all []element) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		if err != nil {
			t.Fatalf("no well-formed XML: %v\n%s", err, svg)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{name: token.Name.Local, at: map[string]string{}}
			for _, a := range token.Attr {
				e.at[a.Name.Local] = a.Value
			}
			all = append(all, e)
		case xml.CharData:
			if len(all) > 0 {
				all[len(all)-1].text += string(token)
			}
		}
	}
}

// harmless are the elements that a picture may have; all others could run or load something.
var harmless = map[string]bool{
	"svg": true, "title": true, "desc": true, "style": true, "g": true,
	"rect": true, "line": true, "polyline": true, "path": true, "circle": true, "text": true,
}

func (e element) number(t rapid.TB, name string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(e.at[name], 64)
	if err != nil {
		t.Fatalf("%s of <%s %v>: %v", name, e.name, e.at, err)
	}
	return f
}

// extent is the space that an element takes.
func (e element) extent(t rapid.TB) (b box, ok bool) {
	t.Helper()
	switch e.name {
	case "rect":
		if e.at["x"] == "" {
			return b, false // the page
		}
		x, y := e.number(t, "x"), e.number(t, "y")
		return box{x, y, x + e.number(t, "width"), y + e.number(t, "height")}, true
	case "line":
		return box{min(e.number(t, "x1"), e.number(t, "x2")), min(e.number(t, "y1"), e.number(t, "y2")),
			max(e.number(t, "x1"), e.number(t, "x2")), max(e.number(t, "y1"), e.number(t, "y2"))}, true
	case "circle":
		return around(spot{e.number(t, "cx"), e.number(t, "cy")}, e.number(t, "r")), true
	case "text":
		x, y, em := e.number(t, "x"), e.number(t, "y"), e.number(t, "font-size")
		w := width(strings.TrimSpace(e.text), em)
		if strings.Contains(" "+e.at["class"]+" ", " a ") {
			w *= bold
		}
		left := x - w*map[string]float64{"": 0, "middle": 0.5, "end": 1}[e.at["text-anchor"]]
		return box{left, y - em*0.8, left + w, y + em*0.2}, true
	case "polyline", "path":
		return e.outline(t), true
	}
	return b, false
}

func (e element) outline(t rapid.TB) box {
	t.Helper()
	text := e.at["points"] + e.at["d"]
	numbers := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("MLZ, ", r) })
	b := box{1e9, 1e9, -1e9, -1e9}
	for i := 0; i+1 < len(numbers); i += 2 {
		x, err := strconv.ParseFloat(numbers[i], 64)
		y, err2 := strconv.ParseFloat(numbers[i+1], 64)
		if err != nil || err2 != nil {
			t.Fatalf("<%s %v>: %v %v", e.name, e.at, err, err2)
		}
		b = box{min(b.left, x), min(b.top, y), max(b.right, x), max(b.bottom, y)}
	}
	return b
}

// mustBePicture: well-formed, harmless, described, and drawn inside its own bounds.
func mustBePicture(t rapid.TB, svg []byte) []element {
	t.Helper()
	all := parse(t, svg)
	if len(all) < 3 || all[0].name != "svg" || all[1].name != "title" || all[2].name != "desc" ||
		strings.TrimSpace(all[1].text) == "" || strings.TrimSpace(all[2].text) == "" {
		t.Fatalf("no svg with title and desc: %.300s", svg)
	}
	page := box{0, 0, Width, all[0].number(t, "height")}
	if want := fmt.Sprintf("0 0 %s %s", all[0].at["width"], all[0].at["height"]); all[0].at["viewBox"] != want {
		t.Errorf("viewBox is %q, want %q", all[0].at["viewBox"], want)
	}
	for _, e := range all {
		if !harmless[e.name] {
			t.Errorf("an element <%s>", e.name)
		}
		for name, value := range e.at {
			if strings.HasPrefix(name, "on") || name == "href" || name == "style" ||
				strings.Contains(value, "NaN") || strings.Contains(value, "Inf") && !strings.HasPrefix(name, "data-") {
				t.Errorf("<%s %s=%q>", e.name, name, value)
			}
		}
		if e.name == "text" {
			if em := e.number(t, "font-size"); em < 12 {
				t.Errorf("text of %v px: %q", em, e.text)
			}
		}
		if b, ok := e.extent(t); ok && !page.holds(b) {
			t.Errorf("outside the picture of %v: <%s %v> %q at %+v", page, e.name, e.at, strings.TrimSpace(e.text), b)
		}
	}
	return all
}

// data are the elements that carry a datum, by its value.
func data(all []element, name string) map[string]element {
	found := map[string]element{}
	for _, e := range all {
		if v, ok := e.at[name]; ok {
			found[v] = e
		}
	}
	return found
}

// Of a long row of readings the first, the last and the extremes have a line; all are drawn
// and stand in the description.
func TestALongRowOfReadingsIsFolded(t *testing.T) {
	d := afternoon()
	window := &d.Lights[0]
	for i := range 20 {
		r := window.Readings[i%5]
		r.Reading, r.TakenAt = recordID(200+i), noon.Add(time.Duration(3*i)*time.Minute)
		if i == 7 {
			r.Color = pointer(shown(5000, 0.003))
		}
		window.Readings = append(window.Readings, r)
	}
	svg := string(Drift(d, time.UTC))
	lines := 0
	for _, e := range mustBePicture(t, []byte(svg)) {
		if e.name == "text" && strings.Contains(e.text, " K, Duv") && e.at["font-size"] == "12" {
			lines++
		}
	}
	if lines != 4 || !strings.Contains(svg, "5000 K") || !strings.Contains(svg, "and 22 more readings between them") {
		t.Errorf("got %d lines of readings, want the first, the coolest, the warmest and the last, and how many more", lines)
	}
	if got := strings.Count(svg[:strings.Index(svg, "</desc>")], " lux"); got != 26 {
		t.Errorf("got %d readings in the description, want 26", got)
	}
}
