package amend_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// sameNumber logs take 5 of a set-up so many times, each on another line of one desk.
func sameNumber(t *testing.T, times int) (d *amendtest.Desk, takes []logbook.ID) {
	d = amendtest.New(t)
	d.Line = 1
	for range times {
		d.Now++
		takes = append(takes, d.Make(kinds.Take, fmt.Sprintf(`{"setUp":%s,"number":5}`, logbook.IDValue(logtest.ID(90)))).ID)
	}
	return d, takes
}

func answerGroup(d *amendtest.Desk, ids []logbook.ID, answer string, wholeRun bool) {
	d.T.Helper()
	drafts, err := amend.AnswerGroup(d.Book, ids, answer, wholeRun)
	if err != nil {
		d.T.Fatal(err)
	}
	d.Apply(drafts...)
}

func TestATakeThatWasLoggedOftenIsOneGroup(t *testing.T) {
	t.Run("of a thousand, which one answer makes one", func(t *testing.T) {
		d, takes := sameNumber(t, 1000)
		got := amend.Twins(d.Book)
		if len(got) != 1 || !slices.Equal(got[0].Records, takes) || len(got[0].Two) > 0 {
			t.Fatalf("got %d groups, want one of all takes", len(got))
		}
		answerGroup(d, takes, amend.TwinOne, false)
		if got, all := amend.Twins(d.Book), d.Book.Records(kinds.Take); len(got) > 0 || len(all) != 1 || len(all[0].Members()) != 1000 {
			t.Errorf("got %d groups and %d takes, want one take and no question", len(got), len(all))
		}
	})
	t.Run("that says what was answered, until every two are", func(t *testing.T) {
		d, takes := sameNumber(t, 4)
		answerTwin(d, takes[1], takes[0], amend.TwinTwo)
		answerTwin(d, takes[2], takes[3], amend.TwinOne)
		got := amend.Twins(d.Book)
		want := amend.TwinGroup{Records: takes[:3], Two: [][2]logbook.ID{{takes[0], takes[1]}}}
		if len(got) != 1 || !slices.Equal(got[0].Records, want.Records) || !slices.Equal(got[0].Two, want.Two) {
			t.Fatalf("got %v, want %v", got, want)
		}
		answerGroup(d, takes[:3], amend.TwinTwo, false)
		if got := amend.Twins(d.Book); len(got) > 0 || len(d.Book.Records(kinds.Take)) != 3 {
			t.Errorf("got %v and %d takes, want three and no question", got, len(d.Book.Records(kinds.Take)))
		}
	})
	t.Run("all of which are one, also where two were parted before", func(t *testing.T) {
		d, takes := sameNumber(t, 3)
		answerTwin(d, takes[1], takes[2], amend.TwinTwo)
		answerGroup(d, takes, amend.TwinOne, false)
		first := d.View(takes[0])
		first, _ = d.Book.Alone(kinds.Take, first.ID)
		d.Apply(first.Drafts([]logbook.Change{logbook.Strike(first)})...)
		if got := d.View(takes[2]).ID; got != takes[1] {
			t.Errorf("without the first the third reads as %s, want as the second", got)
		}
	})
	t.Run("or several in a run, which one answer settles", func(t *testing.T) {
		d := amendtest.New(t)
		var takes []logbook.ID
		for number := 1; number <= 3; number++ {
			for line := 1; line <= 3; line++ {
				d.Line, d.Now = line, d.Now+1
				takes = append(takes, d.Make(kinds.Take, fmt.Sprintf(`{"setUp":%s,"number":%d}`, logbook.IDValue(logtest.ID(90)), number)).ID)
			}
		}
		got := amend.Twins(d.Book)
		if len(got) != 3 || got[0].Run != takes[0] || got[1].Run != takes[0] || got[2].Run != takes[0] {
			t.Fatalf("got %v, want three groups of one run", got)
		}
		answerGroup(d, takes[3:6], amend.TwinOne, true)
		if got := len(d.Book.Records(kinds.Take)); got != 3 || len(amend.Twins(d.Book)) > 0 {
			t.Errorf("got %d takes, want three", got)
		}
	})
	t.Run("about which too much is not said at once", func(t *testing.T) {
		d, takes := sameNumber(t, amend.MostTwo+1)
		for _, c := range []struct {
			ids    []logbook.ID
			answer string
		}{{takes, amend.TwinTwo}, {takes[:1], amend.TwinOne}, {append(slices.Clone(takes), logtest.ID(3)), amend.TwinOne}, {takes, "three"}} {
			var field *logbook.FieldError
			if drafts, err := amend.AnswerGroup(d.Book, c.ids, c.answer, false); !errors.As(err, &field) || drafts != nil {
				t.Errorf("%s of %d: got %v, want it refused", c.answer, len(c.ids), err)
			}
		}
		answerGroup(d, takes[1:], amend.TwinTwo, false)
	})
}

func TestNamesAreTwinsHoweverTheirAccentsAreTyped(t *testing.T) {
	d := amendtest.New(t)
	for _, name := range []string{"Caf\u00e9", "CAFE\u0301 ", "Cafe"} {
		d.Make(kinds.Scene, `{"name":`+string(logbook.TextValue(name))+`}`)
	}
	if got := amend.Twins(d.Book); len(got) != 1 || len(got[0].Records) != 2 {
		t.Errorf("got %v, want the two spellings of one name", got)
	}
}
