package handover_test

import (
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
)

// What is entered after a day was closed is marked in each form, and where clips are found.
func TestALateEditIsMarkedInEachForm(t *testing.T) {
	_, l := logOf(t, growth.LongJob(1)[:170])
	n := uint64(0)
	write := func(kind logbook.Kind, field string, value logbook.Value) (of logbook.View) {
		t.Helper()
		var e *logbook.Edit
		l.Read(func(b *logbook.Book) {
			of = b.Records(kind)[0]
			n++
			e = &logbook.Edit{Production: growth.Production, Kind: kind, Record: of.ID, Device: growth.Production, By: "late hand",
				Dot: logbook.Dot{Line: logbook.Line{9, 9}, N: n}, At: logbook.Millis(1_990_000_000_000 + n*60_000),
				Set: []logbook.Change{logbook.Replace(of, field, value)}}
		})
		if answers, err := l.Push([]*logbook.Edit{e}, growth.Production, 9); err != nil || answers[0].Outcome != logbook.AnswerTaken {
			t.Fatal(answers, err)
		}
		return of
	}
	forms := func() (all map[string][]string, late []string) {
		l.Read(func(b *logbook.Book) {
			made := written(t, b, stateOf(t, l), "csv", "json", "xlsx", "html", "zip")
			for name, text := range filesIn(t, made["zip"]) {
				if strings.HasPrefix(name, "cdl/to-intent-") {
					made["ccc"] = text
				}
			}
			delete(made, "zip")
			all = unpacked(t, made)
			found, err := glance.SearchClips(b, glance.ClipQuery{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range found.Clips {
				if c.AfterClosing {
					late = append(late, c.Name)
				}
			}
		})
		return all, late
	}
	marks := map[string]string{"csv": "clip (late hand, 20", "json": `"afterClosing":[{"on":"clip","by":"late hand"`, "xlsx": "clip (late hand, 20",
		"html": "<b>After closing:</b> clip (<bdi>late hand</bdi>", "ccc": "<Description>after closing: clip (late hand, 20"}
	write(kinds.Body, "recordingModes/m", `{"encoding":"linear","name":"plain","primaries":"acesAp1","white":"baked"}`)
	write(kinds.Day, "closed", "true")
	before, late := forms()
	if corrections := strings.Count(before["ccc"][0], "<ColorCorrection "); corrections < 2 {
		t.Fatalf("a collection has %d corrections, want some", corrections)
	}
	for form, mark := range marks {
		if strings.Contains(before[form][0], mark) {
			t.Errorf("%s: marked before anything came", form)
		}
	}
	if len(late) != 0 {
		t.Errorf("%d clips are found as late before anything came", len(late))
	}
	clip := write(kinds.Clip, "lens", `"late"`)
	after, late := forms()
	for form, mark := range marks {
		if got := strings.Count(after[form][0], mark); got != 1 {
			t.Errorf("%s: %d marks, want 1", form, got)
		}
	}
	name, _ := clip.Value("name").Member("text").Text()
	if len(late) != 1 || late[0] != name {
		t.Errorf("found as late: %v, want %s", late, name)
	}
	// What concerns some clips of a set-up marks these alone: a take, a light that is turned after the last of
	// them. What concerns all marks all. The row is the measure.
	for _, e := range []struct {
		kind  logbook.Kind
		field string
		value logbook.Value
		more  bool
	}{{kinds.Take, "wanted", "true", true}, {kinds.Light, "rigged/dialKelvin", "3200", false}, {kinds.Reading, "sky", `"sun"`, true}} {
		before := len(late)
		write(e.kind, e.field, e.value)
		_, late = forms()
		var rows []string
		l.Read(func(b *logbook.Book) {
			for r, err := range colorlog.Rows(b, colorlog.Scope{}) {
				if err != nil {
					t.Fatal(err)
				}
				if len(r.Off.AfterClosing) > 0 && !slices.Contains(rows, r.Find.ClipName) {
					rows = append(rows, r.Find.ClipName)
				}
			}
		})
		if len(late) != len(rows) || slices.ContainsFunc(late, func(name string) bool { return !slices.Contains(rows, name) }) {
			t.Errorf("after %s: found as late: %v, by their rows: %v", e.kind, late, rows)
		}
		if len(late) > before != e.more {
			t.Errorf("after %s: %d clips are late, %d before", e.kind, len(late), before)
		}
	}
}
