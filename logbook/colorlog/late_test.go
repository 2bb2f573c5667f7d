package colorlog

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
)

// What a row rests on and was entered after its day was closed is named, whatever kind it is of.
func TestARowNamesWhatWasEnteredAfterClosing(t *testing.T) {
	for _, c := range []struct {
		name string
		late func(d *diary)
		want string // what it is, in the order of the row
	}{
		{"nothing", func(d *diary) {}, ""},
		{"the clip", func(d *diary) { d.write(kinds.Clip, "c1", `{"lens": "50"}`) }, "clip"},
		{"the take", func(d *diary) { d.write(kinds.Take, "t1", `{"wanted": true}`) }, "take"},
		{"the set-up", func(d *diary) { d.write(kinds.SetUp, "up1", `{"name": "B"}`) }, "setUp"},
		{"its white", func(d *diary) {
			d.write(kinds.White, "w2", `{"setUp": "#up1", "supersedes": "#w1", "from": {"as": "nominal", "kelvin": 5000, "locus": "blackBody"}, "appliesFrom": {"as": "start"}}`)
			d.write(kinds.Take, "t1", `{"white": "#w2"}`)
		}, "take white"},
		{"the light", func(d *diary) { d.write(kinds.Light, "key", `{"name": "window"}`) }, "light window"},
		{"a reading behind the light", func(d *diary) { d.write(kinds.Reading, "m1", `{"sky": "sun"}`) }, "reading"},
		{"the camera and the body, which go on", func(d *diary) {
			d.write(kinds.Camera, "cam1", `{"operator": "B"}`)
			d.write(kinds.Body, "body1", `{"label": "two"}`)
		}, ""},
		{"what is of no row", func(d *diary) { d.write(kinds.Take, "t9", `{"setUp": "#up1", "number": 9}`) }, ""},
		{"opened again", func(d *diary) {
			d.write(kinds.Clip, "c1", `{"lens": "50"}`)
			d.write(kinds.Day, "day1", `{"closed": false}`)
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newDiary(t)
			d.write(kinds.Light, "key", `{"setUp": "#up1", "name": "key", "role": "key"}`)
			d.write(kinds.Reading, "m1", `{"setUp": "#up1", "measured": {"as": "cctDuv", "cctKelvin": 5600, "duv": 0},
				"takenAt": "2031-02-27T23:12:00Z", "of": {"as": "light", "light": "#key"}}`)
			d.write(kinds.White, "w1", `{"setUp": "#up1", "from": {"as": "readings", "readings": [{"reading": "#m1"}]},
				"appliesFrom": {"as": "start"}}`)
			d.write(kinds.Take, "t1", `{"setUp": "#up1", "number": 1, "white": "#w1"}`)
			d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600, "takes/#t1": {}`)
			d.write(kinds.Day, "day1", `{"closed": true}`)
			before := d.only()
			c.late(d)
			r := d.only()
			var on []string
			for _, l := range r.Off.AfterClosing {
				on = append(on, l.On)
				if l.By != "DIT" || !l.At.After(before.Find.StartedAt) || l.Record.IsZero() {
					t.Errorf("got %+v", l)
				}
			}
			if got := strings.Join(on, " "); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
			if got := (&line{Row: &r}).afterClosing(); strings.Count(got, "(DIT, 2031-") != len(on) {
				t.Errorf("got the cell %q", got)
			}
			found, err := glance.SearchClips(d.book, glance.ClipQuery{}, nil)
			if err != nil || len(found.Clips) != 1 || found.Clips[0].AfterClosing != (len(on) > 0) {
				t.Errorf("found %+v, %v: marked otherwise than the row", found, err)
			}
		})
	}
}

// A row rests on the cards that moved its camera's white, and on what its light was read from.
func TestARowRestsOnItsCardsAndReadings(t *testing.T) {
	d := newDiary(t)
	d.clip("c1", `, "whiteMode": "kelvin", "kelvin": 5600`)
	d.write(kinds.Day, "day1", `{"closed": true}`)
	d.write(kinds.Sample, "k1", `{"body": "#body1", "camera": "#cam1"}`)
	d.write(kinds.Reading, "m1", `{"sky": "sun"}`)
	d.write(kinds.Reading, "m2", `{"sky": "sun"}`)
	setUp, _ := d.book.RecordOf(kinds.SetUp, diaryID("up1"))
	clip, _ := d.book.RecordOf(kinds.Clip, diaryID("c1"))
	summary := &glance.ClipSummary{Cards: []logbook.ID{diaryID("k1")}, Lights: []glance.LightNow{{Reading: diaryID("m2")}}}
	summary.MeasuredOrigin.Records = []logbook.ID{diaryID("m1"), diaryID("m2")}
	var on []string
	for _, l := range glance.ClosedOf(setUp).Late(clip, logbook.View{}, logbook.Ever, summary) {
		on = append(on, l.On)
	}
	if got := strings.Join(on, " "); got != "reading reading card" {
		t.Errorf("got %q, want the card and each reading once", got)
	}
}
