package amend_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// twoPhones log the same take apart: phone 1 its camera A, phone 2 cameras A
// (where bothA) and B.
func twoPhones(t *testing.T, bothA bool) (d *amendtest.Desk, takes [2]logbook.View) {
	d = amendtest.New(t)
	body := d.Body("")
	setUp := d.Make(kinds.SetUp, fmt.Sprintf(`{"day":%s,"name":"A"}`, logbook.IDValue(logtest.ID(90))))
	var cameras []logbook.View
	for _, letter := range []string{"A", "B"} {
		cameras = append(cameras, d.Make(kinds.Camera, fmt.Sprintf(`{"letter":%q,"body":{"body":%s}}`, letter, logbook.IDValue(body.ID))))
	}
	clip := func(take, camera logbook.View, kelvin int) {
		d.Make(kinds.Clip, fmt.Sprintf(`{"setUp":%s,"camera":%s,"body":%s,"whiteMode":"kelvin","kelvin":%d,"takes":{%s:{}}}`,
			logbook.IDValue(setUp.ID), logbook.IDValue(camera.ID), logbook.IDValue(body.ID), kelvin, logbook.IDValue(take.ID)))
	}
	for i := range takes {
		d.Line, d.Now = i+1, d.Now+1
		takes[i] = d.Make(kinds.Take, fmt.Sprintf(`{"setUp":%s,"number":5,"slate":%q}`, logbook.IDValue(setUp.ID), []string{"head", "tail"}[i]))
		clip(takes[i], cameras[i], 5600+i)
	}
	if bothA {
		clip(takes[1], cameras[0], 4300)
	}
	return d, takes
}

func answerTwin(d *amendtest.Desk, first, second logbook.ID, answer string) []logbook.Draft {
	d.T.Helper()
	drafts, err := amend.Answer(d.Book, first, second, answer)
	if err != nil {
		d.T.Fatal(err)
	}
	d.Now++
	d.Apply(drafts...)
	return drafts
}

func TestTwins(t *testing.T) {
	t.Run("are asked about once, and are one take with both cameras' clips after one", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		got := amend.Twins(d.Book)
		if len(got) != 1 || !slices.Equal(got[0].Records, []logbook.ID{takes[0].ID, takes[1].ID}) ||
			got[0].Kind != kinds.Take || got[0].SetUp.IsZero() {
			t.Fatalf("got %v, want the two takes", got)
		}
		drafts := answerTwin(d, takes[1].ID, takes[0].ID, amend.TwinOne)
		if len(drafts) != 1 || drafts[0].Record != takes[0].ID || drafts[0].Set[0].Field != logbook.SamePrefix+takes[1].ID.String() {
			t.Errorf("got %v, want the answer in the smaller id", drafts)
		}
		if got := amend.Twins(d.Book); len(got) != 0 {
			t.Errorf("after the answer: got %v", got)
		}
		if got := d.Book.Records(kinds.Take); len(got) != 1 || len(d.Book.Referring(kinds.Clip, "takes", takes[1].ID)) != 2 {
			t.Errorf("got %d takes, want one with two clips", len(got))
		}
		clips, counts := amend.Conflicts(d.Book), amend.ConflictCounts(d.Book)
		if len(clips) != 1 || clips[0].Field != "slate" || clips[0].Kind != kinds.Take || len(counts) != 1 || counts[0].Count != 1 {
			t.Errorf("got conflicts %v, %v, want only the slate", clips, counts)
		}
		take := d.View(takes[0].ID)
		take, _ = d.Patch(take, `{"slate":"head"}`)
		if len(take.Conflicts()) != 0 || take.Text("slate") != "head" {
			t.Errorf("settling wrote not to each: %s", amend.Object(take))
		}
	})
	t.Run("join the clips of one camera, where both spoke of it, and part them again", func(t *testing.T) {
		d, takes := twoPhones(t, true)
		if got := answerTwin(d, takes[0].ID, takes[1].ID, amend.TwinOne); len(got) != 2 || got[1].Kind != kinds.Clip {
			t.Fatalf("got %v, want an answer for the takes and one for camera A's clips", got)
		}
		clips := d.Book.Records(kinds.Clip)
		if len(clips) != 2 || len(amend.Twins(d.Book)) != 0 {
			t.Fatalf("got %d clips, want 2", len(clips))
		}
		for _, clip := range clips {
			want := len(clip.Members()) == 2
			if got := clip.Field("kelvin").Conflict; got != want {
				t.Errorf("kelvin in conflict: got %v, want %v", got, want)
			}
		}
		answerTwin(d, takes[0].ID, takes[1].ID, amend.TwinTwo)
		if got := len(d.Book.Records(kinds.Clip)); got != 3 || len(d.Book.Records(kinds.Take)) != 2 || len(amend.Twins(d.Book)) != 0 {
			t.Errorf("after two: got %d clips, twins %v", got, amend.Twins(d.Book))
		}
	})
	t.Run("ask about a clip that arrives after the answer", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		answerTwin(d, takes[0].ID, takes[1].ID, amend.TwinOne)
		clip := d.Book.Referring(kinds.Clip, "takes", takes[0].ID)[0]
		late := d.Make(kinds.Clip, fmt.Sprintf(`{"setUp":%s,"camera":%s,"body":%s,"whiteMode":"kelvin","part":1.0,"takes":{%s:{}}}`,
			clip.Value("setUp"), clip.Value("camera"), clip.Value("body"), logbook.IDValue(takes[1].ID)))
		got := amend.Twins(d.Book)
		if len(got) != 1 || got[0].Kind != kinds.Clip || !slices.Equal(got[0].Records, []logbook.ID{clip.ID, late.ID}) {
			t.Errorf("got %v, want the two clips", got)
		}
	})
	t.Run("drop out when one is struck out or its number is used again", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		d.Apply(logbook.Draft{Kind: kinds.Take, Record: takes[0].ID, Set: []logbook.Change{logbook.Strike(takes[0])}})
		if got := amend.Twins(d.Book); len(got) != 0 {
			t.Errorf("got %v", got)
		}
		d, takes = twoPhones(t, false)
		d.Patch(takes[0], `{"state":"numberUsedAgain"}`)
		if got := amend.Twins(d.Book); len(got) != 0 {
			t.Errorf("got %v", got)
		}
	})
	t.Run("are known by number, not by how it was typed, and by what absent fields read as", func(t *testing.T) {
		d := amendtest.New(t)
		d.Make(kinds.Day, `{"number":1,"date":"2026-03-04"}`)
		d.Make(kinds.Day, `{"number":1.0,"date":"2026-03-04","unit":"Main "}`)
		d.Make(kinds.Day, `{"number":1,"date":"2026-03-04","unit":"second"}`)
		if got := amend.Twins(d.Book); len(got) != 1 {
			t.Errorf("got %v, want one pair", got)
		}
	})
	t.Run("refuse an answer that says nothing", func(t *testing.T) {
		d, takes := twoPhones(t, false)
		reading := d.Make(kinds.Reading, `{"measured":{"as":"xy","x":0.44,"y":0.40},"takenAt":"2026-03-04T05:06:07Z","of":{"as":"everything"}}`)
		for _, c := range []struct {
			first, second logbook.ID
			answer, want  string
		}{
			{takes[0].ID, takes[1].ID, "three", `answer is "three"; allowed is one of one, two`},
			{logtest.ID(9), takes[1].ID, "one", "first is"},
			{takes[0].ID, logtest.ID(9), "one", "second is"},
			{takes[0].ID, takes[0].ID, "one", "allowed is another take"},
			{takes[0].ID, reading.ID, "one", "allowed is another take"},
			{reading.ID, d.Make(kinds.Reading, `{"measured":{"as":"xy","x":0.44,"y":0.40},"takenAt":"2026-03-04T05:06:07Z","of":{"as":"everything"}}`).ID, "one", "not a reading"},
		} {
			_, err := amend.Answer(d.Book, c.first, c.second, c.answer)
			var field *logbook.FieldError
			if !errors.As(err, &field) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %q", err, c.want)
			}
		}
	})
}
