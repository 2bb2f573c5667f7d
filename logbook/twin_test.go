package logbook

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// twoPhones log the same take apart: phone 1 its camera A, phone 2 cameras A
// (where bothA) and B.
func twoPhones(t *testing.T, bothA bool) (d *desk, takes [2]View) {
	d = newDesk(t)
	body := d.body("")
	setUp := d.make(KindSetUp, fmt.Sprintf(`{"day":%s,"name":"A"}`, IDValue(testID(90))))
	var cameras []View
	for _, letter := range []string{"A", "B"} {
		cameras = append(cameras, d.make(KindCamera, fmt.Sprintf(`{"letter":%q,"body":{"body":%s}}`, letter, IDValue(body.ID))))
	}
	clip := func(take, camera View, kelvin int) {
		d.make(KindClip, fmt.Sprintf(`{"setUp":%s,"camera":%s,"body":%s,"whiteMode":"kelvin","kelvin":%d,"takes":{%s:{}}}`,
			IDValue(setUp.ID), IDValue(camera.ID), IDValue(body.ID), kelvin, IDValue(take.ID)))
	}
	for i := range takes {
		d.line, d.now = i+1, d.now+1
		takes[i] = d.make(KindTake, fmt.Sprintf(`{"setUp":%s,"number":5,"slate":%q}`, IDValue(setUp.ID), []string{"head", "tail"}[i]))
		clip(takes[i], cameras[i], 5600+i)
	}
	if bothA {
		clip(takes[1], cameras[0], 4300)
	}
	return d, takes
}

func (d *desk) answer(first, second ID, answer string) []Draft {
	d.t.Helper()
	drafts, err := AnswerTwin(d.b, first, second, answer)
	if err != nil {
		d.t.Fatal(err)
	}
	d.now++
	d.apply(drafts...)
	return drafts
}

func TestTwins(t *testing.T) {
	t.Run("are asked about once, and are one take with both cameras' clips after one", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		got := Twins(d.b)
		if len(got) != 1 || got[0].First != takes[0].ID || got[0].Second != takes[1].ID || got[0].Kind != KindTake || got[0].SetUp.IsZero() {
			t.Fatalf("got %v, want the two takes", got)
		}
		drafts := d.answer(takes[1].ID, takes[0].ID, TwinOne)
		if len(drafts) != 1 || drafts[0].Record != takes[0].ID || drafts[0].Set[0].Field != SamePrefix+takes[1].ID.String() {
			t.Errorf("got %v, want the answer in the smaller id", drafts)
		}
		if got := Twins(d.b); len(got) != 0 {
			t.Errorf("after the answer: got %v", got)
		}
		if got := d.b.Records(KindTake); len(got) != 1 || len(d.b.Referring(KindClip, "takes", takes[1].ID)) != 2 {
			t.Errorf("got %d takes, want one with two clips", len(got))
		}
		clips, counts := Conflicts(d.b)
		if len(clips) != 1 || clips[0].Field != "slate" || clips[0].Kind != KindTake || len(counts) != 1 || counts[0].Count != 1 {
			t.Errorf("got conflicts %v, %v, want only the slate", clips, counts)
		}
		take := d.view(takes[0].ID)
		take, _ = d.patch(take, `{"slate":"head"}`)
		if len(take.Conflicts()) != 0 || take.Text("slate") != "head" {
			t.Errorf("settling wrote not to each: %s", ObjectOf(take))
		}
	})
	t.Run("join the clips of one camera, where both spoke of it, and part them again", func(t *testing.T) {
		d, takes := twoPhones(t, true)
		if got := d.answer(takes[0].ID, takes[1].ID, TwinOne); len(got) != 2 || got[1].Kind != KindClip {
			t.Fatalf("got %v, want an answer for the takes and one for camera A's clips", got)
		}
		clips := d.b.Records(KindClip)
		if len(clips) != 2 || len(Twins(d.b)) != 0 {
			t.Fatalf("got %d clips, want 2", len(clips))
		}
		for _, clip := range clips {
			want := len(clip.Members()) == 2
			if got := clip.Field("kelvin").Conflict; got != want {
				t.Errorf("kelvin in conflict: got %v, want %v", got, want)
			}
		}
		d.answer(takes[0].ID, takes[1].ID, TwinTwo)
		if got := len(d.b.Records(KindClip)); got != 3 || len(d.b.Records(KindTake)) != 2 || len(Twins(d.b)) != 0 {
			t.Errorf("after two: got %d clips, twins %v", got, Twins(d.b))
		}
	})
	t.Run("ask about a clip that arrives after the answer", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		d.answer(takes[0].ID, takes[1].ID, TwinOne)
		clip := d.b.Referring(KindClip, "takes", takes[0].ID)[0]
		late := d.make(KindClip, fmt.Sprintf(`{"setUp":%s,"camera":%s,"body":%s,"whiteMode":"kelvin","part":1.0,"takes":{%s:{}}}`,
			clip.Value("setUp"), clip.Value("camera"), clip.Value("body"), IDValue(takes[1].ID)))
		got := Twins(d.b)
		if len(got) != 1 || got[0].Kind != KindClip || got[0].First != clip.ID || got[0].Second != late.ID {
			t.Errorf("got %v, want the two clips", got)
		}
	})
	t.Run("drop out when one is struck out or its number is used again", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		d.apply(Draft{KindTake, takes[0].ID, []Change{Strike(takes[0])}})
		if got := Twins(d.b); len(got) != 0 {
			t.Errorf("got %v", got)
		}
		d, takes = twoPhones(t, false)
		d.patch(takes[0], `{"state":"numberUsedAgain"}`)
		if got := Twins(d.b); len(got) != 0 {
			t.Errorf("got %v", got)
		}
	})
	t.Run("are told by number, not by how it was typed, and by what absent fields read as", func(t *testing.T) {
		d := newDesk(t)
		d.make(KindDay, `{"number":1,"date":"2026-03-04"}`)
		d.make(KindDay, `{"number":1.0,"date":"2026-03-04","unit":"Main "}`)
		d.make(KindDay, `{"number":1,"date":"2026-03-04","unit":"second"}`)
		if got := Twins(d.b); len(got) != 1 {
			t.Errorf("got %v, want one pair", got)
		}
	})
	t.Run("refuse an answer that says nothing", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		reading := d.make(KindReading, `{"measured":{"as":"xy","x":0.44,"y":0.40},"takenAt":"2026-03-04T05:06:07Z","of":{"as":"everything"}}`)
		for _, c := range []struct {
			first, second ID
			answer, want  string
		}{
			{takes[0].ID, takes[1].ID, "three", `answer is "three"; allowed is one of one, two`},
			{testID(9), takes[1].ID, "one", "first is"},
			{takes[0].ID, testID(9), "one", "second is"},
			{takes[0].ID, takes[0].ID, "one", "allowed is another take"},
			{takes[0].ID, reading.ID, "one", "allowed is another take"},
			{reading.ID, d.make(KindReading, `{"measured":{"as":"xy","x":0.44,"y":0.40},"takenAt":"2026-03-04T05:06:07Z","of":{"as":"everything"}}`).ID, "one", "not a reading"},
		} {
			_, err := AnswerTwin(d.b, c.first, c.second, c.answer)
			var field *FieldError
			if !errors.As(err, &field) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %q", err, c.want)
			}
		}
	})
}

func TestConflictsOfAProduction(t *testing.T) {
	d, takes := twoPhones(t, false)
	seen := Strike(takes[0])
	d.line = 2
	d.apply(Draft{KindTake, takes[0].ID, []Change{{Field: "wanted", Value: "true"}}})
	d.line = 1
	d.apply(Draft{KindTake, takes[0].ID, []Change{seen}})
	got, counts := Conflicts(d.b)
	if len(got) != 1 || !got[0].Deletion || got[0].Field != "wanted" || len(counts) != 1 || counts[0].SetUp != takes[0].Ref("setUp") || counts[0].Count != 1 {
		t.Errorf("got %v, %v, want wanted: struck out here, changed there", got, counts)
	}
	if text := string(ObjectOf(d.view(takes[0].ID))); !strings.Contains(text, `"deleted":true`) || !strings.Contains(text, `"kind":"deletion"`) {
		t.Errorf("got %s", text)
	}
	d.apply(Draft{KindTake, takes[0].ID, []Change{BringBack(d.view(takes[0].ID))}})
	if got, _ := Conflicts(d.b); len(got) != 0 {
		t.Errorf("after bringing back: got %v", got)
	}
}
