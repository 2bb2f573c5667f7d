package api

import (
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
	if marks["light"] != 2 || marks["white"] != 1 || marks["mix"] != 1 || marks["aim"] != 1 || marks["camera"] != 1 || plane.count("rings") != 2 {
		t.Errorf("got %v in %s", marks, plane.body)
	}
	drift := g.ask("GET", setUp+"/drift", "").want(200)
	if drift.count("lights") != 3 || drift.count("takes") != 1 || drift.count("whites") != 1 || drift.at("timeZone") != `"Europe/Berlin"` {
		t.Errorf("got %s", drift.body)
	}
	one := g.ask("GET", setUp+"/drift?light="+g.ids["panel"], "").want(200)
	if one.count("lights") != 1 || one.at("lights", 0, "key") != `"2"` || one.at("lights", 0, "readings", 0, "reading") != logbook.TextValue(g.ids["panelReading"]) {
		t.Errorf("got %s", one.body)
	}
	g.ask("GET", setUp+"/drift?light="+g.ids["gel"], "").want(404)
	g.ask("GET", setUp+"/drift?light=2", "").want(400)
	swatches := g.ask("GET", setUp+"/swatches", "").want(200)
	if swatches.count("whites") != 3 || swatches.count("lights") != 3 || swatches.at("display", "name") != `"sRGB"` || swatches.at("lights", 0, "pictures", 0, "swatch", "clipped") != "false" {
		t.Errorf("got %s", swatches.body)
	}
	for _, path := range []string{"/plane", "/drift", "/swatches"} {
		g.ask("GET", g.base+"/set-ups/"+drawID().String()+path, "").want(404)
	}
}
