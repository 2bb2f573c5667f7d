package glance_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestAClipIsSummarized(t *testing.T) {
	s := stage.New(t)
	s.Set(s.SetUp, "referenceLight", stage.Ref(s.Key))
	s.Minute(10)
	_, clipA, clipB := s.Shoot("5600", "4300")
	s.Minute(20)
	s.Read(s.Key, `{"as":"cctDuv","cctKelvin":9000,"duv":0}`) // later: does not speak of the clip
	b := s.Book()
	setUp, _ := b.Record(s.SetUp)
	summary := glance.Summarize(b, setUp)
	view, _ := b.Record(clipB)
	c := summary.Clip(view)
	stage.Near(t, "label", *c.Setting.White.CCTKelvin, 4300, 0)
	stage.Near(t, "cast of the light", *c.Cast.Mired, -54, 0)
	stage.Near(t, "off aim", *c.OffAim.Mired, -54, 0)
	stage.Near(t, "off A", *c.OffReferenceCamera.Mired, -54, 0)
	stage.Near(t, "measured", *c.Measured.CCTKelvin, 5600, 0)
	stage.Near(t, "lux", *c.MeasuredLux, 800, 0)
	stage.Near(t, "age", *c.Lights[0].AgeMinutes, 10, 0)
	if c.White.White != s.White || len(c.Limits) != 2 {
		t.Errorf("got white %s, limits %v", c.White.White, c.Limits)
	}
	view, _ = b.Record(clipA)
	if c := summary.Clip(view); c.OffReferenceCamera != nil || *c.OffAim.Mired != 0 {
		t.Errorf("A: got %+v", c)
	}
}

func TestAClipNamesTheCardsThatMovedItsWhite(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	want := []logbook.ID{s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Reading), s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Reading)}
	s.Minute(10)
	_, a, b := s.Shoot("5600", "5600")
	book := s.Book()
	setUp, _ := book.RecordOf(kinds.SetUp, s.SetUp)
	summary := glance.Summarize(book, setUp)
	for clip, cards := range map[logbook.ID][]logbook.ID{a: nil, b: want} {
		v, _ := book.RecordOf(kinds.Clip, clip)
		if got := summary.Clip(v); len(got.Cards) != len(cards) {
			t.Errorf("got %v and %q, want %d cards", got.Cards, got.RestsOn, len(cards))
		}
	}
}
