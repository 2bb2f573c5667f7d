package slate_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
)

// ruled makes a body that names its clips by a rule.
func ruled(d *amendtest.Desk, label, rule string) logbook.View {
	return d.Make(kinds.Body, fmt.Sprintf(`{"label":%q,"whiteModes":["kelvin"],"timecode":"timeOfDay","clipNameRule":%s}`, label, rule))
}

const ruleOfA = `[{"as":"fixed","text":"A"},{"as":"card","digits":3},{"as":"fixed","text":"C"},{"as":"clip","digits":3,"reset":"newCard"},{"as":"fixed","text":"_"},{"as":"date","pattern":"yymmdd"},{"as":"tail"}]`

func TestClipNamesFollowTheRule(t *testing.T) {
	for _, c := range []struct {
		name, rule string
		card, clip int
		date, want string
	}{
		{"pieces in a row, up to the tail", ruleOfA, 12, 7, "2026-03-04", "A012C007_260304"},
		{"a card beyond its digits", `[{"as":"card","digits":2},{"as":"clip","digits":1,"reset":"never"}]`, 112, 7, "", "127"},
		{"month and day only", `[{"as":"clip","digits":4,"reset":"never"},{"as":"date","pattern":"mmdd"}]`, 1, 7, "2026-03-04", "00070304"},
		{"all of the date", `[{"as":"date","pattern":"yyyymmdd"},{"as":"fixed","text":"-"},{"as":"clip","digits":2,"reset":"daily"}]`, 1, 7, "2026-03-04", "20260304-07"},
		{"a date that is not known ends it", `[{"as":"clip","digits":2,"reset":"never"},{"as":"date","pattern":"mmdd"},{"as":"fixed","text":"X"}]`, 1, 7, "", "07"},
		{"nothing but a tail", `[{"as":"tail"}]`, 1, 7, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := amendtest.New(t)
			rule, ok := slate.ClipRuleOf(ruled(d, "b", c.rule))
			if !ok {
				t.Fatal("the body has no rule")
			}
			got := rule.Name(c.card, c.clip, c.date)
			if got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
			if number, _, _, ok := rule.ClipNumber(got); c.want != "" && (!ok || number != c.clip) {
				t.Errorf("read back: got %d, %v, want %d", number, ok, c.clip)
			}
		})
	}
}

func TestTheClipCounter(t *testing.T) {
	type set struct {
		*amendtest.Desk
		body, camera, setUp, next logbook.View
	}
	begin := func(t *testing.T, rule string) *set {
		d := amendtest.New(t)
		s := &set{Desk: d, body: ruled(d, "b", rule)}
		day := d.Make(kinds.Day, `{"number":1,"date":"2026-03-04"}`)
		other := d.Make(kinds.Day, `{"number":2,"date":"2026-03-05"}`)
		s.camera = d.Make(kinds.Camera, fmt.Sprintf(`{"letter":"A","body":{"body":%s}}`, logbook.IDValue(s.body.ID)))
		s.setUp = d.Make(kinds.SetUp, fmt.Sprintf(`{"day":%s,"name":"A"}`, logbook.IDValue(day.ID)))
		s.next = d.Make(kinds.SetUp, fmt.Sprintf(`{"day":%s,"name":"B"}`, logbook.IDValue(other.ID)))
		return s
	}
	clip := func(s *set, setUp logbook.View, card, name, from string) logbook.View {
		s.Now++
		object := fmt.Sprintf(`{"setUp":%s,"camera":%s,"body":%s,"card":%q,"whiteMode":"kelvin","kelvin":5600`, logbook.IDValue(setUp.ID), logbook.IDValue(s.camera.ID), logbook.IDValue(s.body.ID), card)
		if name != "" {
			object += fmt.Sprintf(`,"name":{"text":%q,"from":%q}`, name, from)
		}
		return s.Make(kinds.Clip, object+"}")
	}
	want := func(s *set, setUp logbook.View, card, want string) {
		s.T.Helper()
		if got := slate.NextClipName(s.Book, s.body, setUp, card); got != want {
			s.T.Errorf("got %q, want %q", got, want)
		}
	}
	t.Run("goes on on the card and begins again on a new one", func(t *testing.T) {
		s := begin(t, ruleOfA)
		want(s, s.setUp, "A012", "A012C001_260304")
		clip(s, s.setUp, "A012", "A012C001_260304", "counted")
		clip(s, s.setUp, "A012", "", "")
		want(s, s.setUp, "A012", "A012C003_260304")
		want(s, s.next, "A012", "A012C003_260305")
		want(s, s.setUp, "A013", "A013C001_260304")
	})
	t.Run("counts on from a name that does not follow the rule", func(t *testing.T) {
		s := begin(t, ruleOfA)
		clip(s, s.setUp, "A012", "A012C004_260304", "readOff")
		clip(s, s.setUp, "A012", "odd", "readOff")
		clip(s, s.setUp, "A012", "A012C", "readOff")
		want(s, s.setUp, "A012", "A012C007_260304")
	})
	t.Run("is set by a name that was read off", func(t *testing.T) {
		s := begin(t, ruleOfA)
		clip(s, s.setUp, "A012", "A012C009_260304_R1", "readOff")
		want(s, s.setUp, "A012", "A012C010_260304")
		clip(s, s.setUp, "A012", "A012C004_260304", "readOff")
		want(s, s.setUp, "A012", "A012C005_260304")
	})
	t.Run("is not set back by a counted name that was inserted later", func(t *testing.T) {
		s := begin(t, ruleOfA)
		clip(s, s.setUp, "A012", "A012C005_260304", "counted")
		clip(s, s.setUp, "A012", "A012C002_260304", "counted")
		want(s, s.setUp, "A012", "A012C006_260304")
	})
	t.Run("never begins again, but rolls over", func(t *testing.T) {
		s := begin(t, `[{"as":"clip","digits":4,"start":100,"reset":"never","rollOver":102}]`)
		want(s, s.setUp, "1", "0100")
		clip(s, s.setUp, "1", "0102", "counted")
		want(s, s.next, "2", "0100")
	})
	t.Run("begins again each day", func(t *testing.T) {
		s := begin(t, `[{"as":"clip","digits":2,"reset":"daily"}]`)
		clip(s, s.setUp, "1", "07", "counted")
		want(s, s.setUp, "2", "08")
		want(s, s.next, "2", "01")
	})
	t.Run("leaves out cameras that did not roll and clips that are struck out", func(t *testing.T) {
		s := begin(t, ruleOfA)
		a := clip(s, s.setUp, "A012", "A012C001_260304", "counted")
		b := clip(s, s.setUp, "A012", "A012C002_260304", "counted")
		s.Patch(a, `{"rolled":false}`)
		s.Apply(logbook.Draft{Kind: kinds.Clip, Record: b.ID, Set: []logbook.Change{logbook.Strike(b)}})
		want(s, s.setUp, "A012", "A012C001_260304")
	})
	t.Run("numbers cards without a number by their order", func(t *testing.T) {
		s := begin(t, `[{"as":"card","digits":2,"start":5},{"as":"clip","digits":2,"reset":"newCard"}]`)
		clip(s, s.setUp, "red", "", "")
		want(s, s.setUp, "red", "0502")
		want(s, s.setUp, "blue", "0601")
	})
}

func TestTheCardAfter(t *testing.T) {
	for card, want := range map[string]string{"A012": "A013", "A099": "A100", "9": "10", "red": "", "": ""} {
		if got, ok := slate.CardAfter(card); got != want || ok != (want != "") {
			t.Errorf("%q: got %q, %v, want %q", card, got, ok, want)
		}
	}
}
