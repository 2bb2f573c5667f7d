package colorlog

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
)

func TestARowIsTouchedByWhatListsIt(t *testing.T) {
	d := newDiary(t)
	for _, number := range []string{"3", "4", "5"} {
		d.write(kinds.Take, "t"+number, `{"setUp": "#up1", "number": `+number+`}`)
	}
	d.clip("c1", `, "takes/#t3": {}, "takes/#t4": {}`)
	clip, ok := d.book.RecordOf(kinds.Clip, diaryID("c1"))
	if !ok {
		t.Fatal("no clip")
	}
	take := func(name string) logbook.View {
		v, ok := d.book.RecordOf(kinds.Take, diaryID(name))
		if !ok {
			t.Fatalf("no take %s", name)
		}
		return v
	}
	t3, t4 := take("t3"), take("t4")
	other := logbook.ID{1: 9}
	sh := &shot{clip: clip, takes: []logbook.View{t3, t4}, camera: logbook.View{ID: logbook.ID{1: 8}}}
	for _, c := range []struct {
		name     string
		d        deviation.Deviation
		of3, of4 bool
	}{
		{"the set-up, now", deviation.Deviation{Subjects: []logbook.ID{clip.Ref("setUp"), other}}, false, false},
		{"its clip", deviation.Deviation{Clips: []logbook.ID{clip.ID}}, true, true},
		{"its clip in one of its takes", deviation.Deviation{Clips: []logbook.ID{clip.ID}, Takes: []logbook.ID{t4.ID}}, false, true},
		{"its clip, and another in a take", deviation.Deviation{Clips: []logbook.ID{clip.ID, other}, Takes: []logbook.ID{other}}, true, true},
		{"another clip of its take", deviation.Deviation{Clips: []logbook.ID{other}, Takes: []logbook.ID{t3.ID}}, false, false},
		{"a take of all cameras", deviation.Deviation{Takes: []logbook.ID{t3.ID}}, true, false},
		{"a take of its camera", deviation.Deviation{Takes: []logbook.ID{t3.ID}, Cameras: []logbook.ID{sh.camera.ID}}, true, false},
		{"a take of another camera", deviation.Deviation{Takes: []logbook.ID{t3.ID}, Cameras: []logbook.ID{other}}, false, false},
		{"its camera, now", deviation.Deviation{Cameras: []logbook.ID{sh.camera.ID}, Subjects: []logbook.ID{sh.camera.ID}}, false, false},
		{"what its clip refers to", deviation.Deviation{Subjects: []logbook.ID{clip.ID}}, true, true},
		{"what its take refers to", deviation.Deviation{Subjects: []logbook.ID{t4.ID}}, false, true},
	} {
		if of3, of4 := touches(&c.d, sh, t3), touches(&c.d, sh, t4); of3 != c.of3 || of4 != c.of4 {
			t.Errorf("%s: got %v and %v for takes 3 and 4, want %v and %v", c.name, of3, of4, c.of3, c.of4)
		}
	}
	alone := &shot{clip: clip}
	if touches(&deviation.Deviation{Subjects: []logbook.ID{{}}}, alone, logbook.View{}) {
		t.Error("a clip in no take is touched by what is about no record")
	}
}
