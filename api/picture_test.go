package api

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"evenwhite/logbook"
)

func TestPicturesInNumbers(t *testing.T) {
	g := setStage(t)
	setUp := g.base + "/set-ups/" + g.ids["setUp"]
	plane := g.ask("GET", setUp+"/plane", "").want(200)
	marks := map[string]int{}
	for p := range plane.at("points").Items() {
		mark, _ := p.Member("mark").Text()
		marks[mark]++
	}
	if marks["light"] != 2 || marks["white"] != 1 || marks["mix"] != 1 || marks["aim"] != 1 || marks["camera"] != 1 ||
		plane.count("rings") != 2 {
		t.Errorf("got %v in %s", marks, plane.body)
	}
	drift := g.ask("GET", setUp+"/drift", "").want(200)
	if drift.count("lights") != 3 || drift.count("takes") != 1 || drift.count("whites") != 1 || drift.at("timeZone") != `"Europe/Berlin"` {
		t.Errorf("got %s", drift.body)
	}
	one := g.ask("GET", setUp+"/drift?light="+g.ids["panel"], "").want(200)
	if one.count("lights") != 1 || one.at("lights", 0, "key") != `"2"` ||
		one.at("lights", 0, "readings", 0, "reading") != logbook.TextValue(g.ids["panelReading"]) {
		t.Errorf("got %s", one.body)
	}
	g.ask("GET", setUp+"/drift?light="+g.ids["gel"], "").want(404)
	g.ask("GET", setUp+"/drift?light=2", "").want(400)
	swatches := g.ask("GET", setUp+"/swatches", "").want(200)
	if swatches.count("whites") != 3 || swatches.count("lights") != 3 || swatches.at("display", "name") != `"sRGB"` ||
		swatches.at("lights", 0, "pictures", 0, "swatch", "clipped") != "false" {
		t.Errorf("got %s", swatches.body)
	}
	for _, path := range []string{"/plane", "/drift", "/swatches"} {
		g.ask("GET", g.base+"/set-ups/"+drawID().String()+path, "").want(404)
	}
}

// drawnData reads the data attributes of a picture: of each element those that it
// has, one map an element, by the value of one of them.
func (r *reply) drawnData(by string) map[string]map[string]string {
	r.Helper()
	found := map[string]map[string]string{}
	d := xml.NewDecoder(strings.NewReader(string(r.body)))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return found
		}
		if err != nil {
			r.Fatalf("no well-formed XML: %v: %s", err, r.body)
		}
		if e, ok := token.(xml.StartElement); ok {
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
			}
			if key, ok := at[by]; ok {
				if found[key] == nil {
					found[key] = map[string]string{}
				}
				for name, value := range at {
					found[key][name] = value
				}
			}
		}
	}
}

// TestPicturesSayWhatTheAnswersSay: number for number, as they stand in the JSON.
func TestPicturesSayWhatTheAnswersSay(t *testing.T) {
	g := setStage(t)
	setUp := g.base + "/set-ups/" + g.ids["setUp"]
	compare := func(where string, drawn map[string]string, answer logbook.Value, names ...string) {
		t.Helper()
		for i := 0; i < len(names); i += 2 {
			if got, want := drawn[names[i]], string(answer.Member(names[i+1])); got != want {
				t.Errorf("%s: %s is %q in the picture, %s is %q in the answer", where, names[i], got, names[i+1], want)
			}
		}
	}
	marks := g.ask("GET", setUp+"/plane.svg", "").want(200).drawnData("data-key")
	plane := g.ask("GET", setUp+"/plane", "").want(200)
	for p := range plane.at("points").Items() {
		key, _ := p.Member("key").Text()
		compare("plane "+key, marks[key], p.Member("color"),
			"data-u", "uPrime", "data-v", "vPrime", "data-cct-kelvin", "cctKelvin", "data-mired", "mired", "data-duv", "duv")
		compare("plane "+key, marks[key], p, "data-within", "within")
	}
	if len(marks) != plane.count("points") {
		t.Errorf("%d marks for %d points", len(marks), plane.count("points"))
	}
	drift := g.ask("GET", setUp+"/drift?light="+g.ids["window"], "").want(200)
	dots := g.ask("GET", setUp+"/drift.svg?light="+g.ids["window"], "").want(200).drawnData("data-reading")
	reading := drift.at("lights", 0, "readings", 0)
	id, _ := reading.Member("reading").Text()
	compare("drift", dots[id], reading.Member("color"), "data-mired", "mired", "data-duv", "duv")
	if len(dots) != 1 {
		t.Errorf("got %d readings, want that of the window alone", len(dots))
	}
	r := g.ask("GET", setUp+"/drift.svg", "").want(200)
	if !strings.Contains(string(r.body), "times in UTC+1") || !strings.Contains(string(r.body), ">07:20 5610 K") {
		t.Errorf("06:20 UTC is not drawn as 07:20 in Berlin: %s", r.body)
	}
	swatches := g.ask("GET", setUp+"/swatches", "").want(200)
	fields := g.ask("GET", setUp+"/swatches.svg", "").want(200).drawnData("data-rgb")
	for l := range swatches.at("lights").Items() {
		for c := range l.Member("pictures").Items() {
			if s := c.Member("swatch"); s != "" {
				rgb := string(s.Member("r") + " " + s.Member("g") + " " + s.Member("b"))
				compare("swatch "+rgb, fields[rgb], s, "data-clipped", "clipped")
			}
		}
	}
}

func TestPicturesCannotRunAnything(t *testing.T) {
	g := setStage(t)
	setUp := g.base + "/set-ups/" + g.ids["setUp"]
	evil := `<script>alert(document.domain)</script>`
	g.ask("PATCH", g.record("light", "panel"), `{"name":`+string(logbook.TextValue(evil))+`}`,
		"If-Match", g.ask("GET", g.record("light", "panel"), "").tag()).want(200)
	for _, path := range []string{"/plane.svg", "/drift.svg", "/swatches.svg"} {
		r := g.ask("GET", setUp+path, "").want(200)
		if strings.Contains(string(r.body), "<script") || !strings.Contains(string(r.body), "&lt;script&gt;alert(document.domain)") {
			t.Errorf("%s: the name is not drawn as a text: %s", path, r.body)
		}
		for name, want := range map[string]string{
			"Content-Type": "image/svg+xml", "X-Content-Type-Options": "nosniff", "Cache-Control": "no-store",
		} {
			if got := r.header.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got, want)
			}
		}
		if policy := r.header.Get("Content-Security-Policy"); !strings.HasPrefix(policy, "default-src 'none'; style-src 'sha256-") {
			t.Errorf("%s: the policy is %q", path, policy)
		}
		g.ask("GET", g.base+"/set-ups/"+drawID().String()+path, "").want(404)
	}
}
