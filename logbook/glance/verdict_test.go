package glance_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/stage"
)

// words are the verdicts on what is named so, "" where it is not there.
func words(n *glance.SetUpNow) (light func(string) glance.Verdict, camera func(string) glance.Verdict) {
	v := n.Verdicts()
	light = func(name string) (found glance.Verdict) {
		for i, l := range n.Lights {
			if l.Name == name {
				found = v.Lights[i]
			}
		}
		return found
	}
	camera = func(letter string) (found glance.Verdict) {
		for i, c := range n.Cameras {
			if c.Letter == letter {
				found = v.Cameras[i]
			}
		}
		return found
	}
	return light, camera
}

func TestEachLightCameraAndFindingHasItsWord(t *testing.T) {
	s := stage.New(t)
	s.Fresnel("warm", "fill")
	unread := s.Light("window", "back", "rigged/on", "true")
	s.Shoot("5600", "3200")
	n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(1))
	if err != nil {
		t.Fatal(err)
	}
	light, camera := words(&n)
	for _, c := range []struct {
		what  string
		got   glance.Verdict
		word  string
		least float64
	}{
		{"the key", light(n.Lights[0].Name), "inside", 0},
		{"a tungsten lamp under daylight", light("warm"), "off", 3},
		{"a light that nobody read", light("window"), "missing", -1},
		{"A at 5600 K", camera("A"), "inside", 0},
		{"B at 3200 K", camera("B"), "off", 3},
	} {
		if c.got.Word != c.word || (c.got.Times == nil) != (c.least < 0) || c.got.Times != nil && *c.got.Times < c.least {
			t.Errorf("%s: got %s, %v times; want %s, at least %v", c.what, c.got.Word, c.got.Times, c.word, c.least)
		}
	}
	v := n.Verdicts()
	if v.Due == nil || v.Due.Light != unread {
		t.Errorf("due is %+v, want the light that nobody read", v.Due)
	}
	if len(v.Deviations) != len(n.Deviations) || v.Deviations[0].Word != "off" || v.Deviations[0].Times == nil || *v.Deviations[0].Times <= 1 {
		t.Errorf("the worst finding, %s, is %+v", n.Deviations[0].Headline, v.Deviations[0])
	}
	s.Read(unread, stage.OnLocus3200)
	later := stage.Minute(300)
	if n, err = glance.Now(s.Book(), s.SetUp, later); err != nil {
		t.Fatal(err)
	}
	if v = n.Verdicts(); v.Due == nil || v.Due.Why == "" {
		t.Errorf("hours later due is %+v", v.Due)
	}
}

func TestTakesAreListedWithTheirClipsAndWhatIsOff(t *testing.T) {
	s := stage.New(t)
	first, _, _ := s.Shoot("5600", "5600")
	s.Minute(5)
	second, clip, _ := s.Shoot("5600", "3200")
	r := glance.NewSummarizer(s.Book())
	setUp, _ := s.Book().Record(s.SetUp)
	all := glance.TakesOf(r, setUp, glance.TakeFilter{})
	var takes []glance.TakeLine
	for _, l := range all {
		if !l.Take.IsZero() {
			takes = append(takes, l)
		}
	}
	if len(takes) != 2 || takes[0].Take != second || takes[1].Take != first || len(takes[0].Clips) != 2 {
		t.Fatalf("got %+v", all)
	}
	if b := takes[0].Clips[1]; b.Letter != "B" || b.Verdict != "off" || b.Times == nil || *b.Times < 3 || b.OffAim == nil ||
		b.SettingsAre != "readOff" {
		t.Errorf("B of take 2 is %+v", b)
	}
	if a := takes[0].Clips[0]; a.Clip != clip || a.Verdict != "inside" {
		t.Errorf("A of take 2 is %+v", a)
	}
	for _, c := range []struct {
		only glance.TakeFilter
		want int
	}{
		{glance.TakeFilter{Off: "setting-off-aim"}, 1},
		{glance.TakeFilter{Off: "any"}, 1},
		{glance.TakeFilter{}, 4}, // two takes, and of each camera a clip that is in none
		{glance.TakeFilter{Camera: takes[0].Clips[0].Camera}, 3},
		{glance.TakeFilter{Camera: takes[0].Clips[1].Camera}, 3},
		{glance.TakeFilter{Camera: takes[0].Clips[1].Camera, Off: "setting-off-aim"}, 1},
		{glance.TakeFilter{Clip: "no such clip"}, 0},
		{glance.TakeFilter{Off: "no-such-kind"}, 0},
		{glance.TakeFilter{Camera: logbook.ID{1}}, 0},
	} {
		if got := glance.TakesOf(r, setUp, c.only); len(got) != c.want {
			t.Errorf("%+v lists %d, want %d", c.only, len(got), c.want)
		}
	}
	if lines := glance.SetUps(s.Book(), s.Day); len(lines) != 1 || lines[0].Takes != 2 || lines[0].SetUp != s.SetUp {
		t.Errorf("set-ups: %+v", lines)
	}
}
