package glance_test

import (
	"testing"

	"evenwhite/logbook/glance"
	"evenwhite/logbook/stage"
)

func TestAClipIsFoundByTheBeginningOfItsNameOrByTimecode(t *testing.T) {
	s := stage.New(t)
	_, first, other := s.Shoot("5600", "5600")
	_, second, _ := s.Shoot("5600", "5600")
	s.Set(first, "name", `{"from":"readOff","text":"A001C001"}`, "timecode/start", `"09:10:00:00"`, "timecode/end", `"09:10:58:12"`)
	s.Set(other, "name", `{"from":"readOff","text":"B001C001"}`, "timecode/start", `"01:00:00;00"`)
	s.Set(second, "name", `{"from":"readOff","text":"A001C002"}`, "timecode/start", `"09:12:00:00"`, "timecode/end", `"09:12:30:00"`)
	for _, c := range []struct {
		text string
		want string
	}{
		{"a001", "A001C002 A001C001"}, {"A001C001", "A001C001"}, {" b001 ", "B001C001"}, {"C001", ""}, {"", ""}, {"09", ""},
		{"09:1", "A001C002 A001C001"}, {"09:10:30:00", "A001C001"}, {"09:10:58:13", ""}, {"01:00:00:00", "B001C001"},
	} {
		got := ""
		for _, f := range glance.FindClips(s.Book(), c.text, 10) {
			if got != "" {
				got += " "
			}
			got += f.Name
			if f.SetUp != s.SetUp || f.Day != s.Day || f.Letter == "" {
				t.Errorf("%q: %+v", c.text, f)
			}
		}
		if got != c.want {
			t.Errorf("%q finds %q, want %q", c.text, got, c.want)
		}
	}
	if few := glance.FindClips(s.Book(), "a001", 1); len(few) != 1 || few[0].Clip != second {
		t.Errorf("at most one: %+v", few)
	}
}
