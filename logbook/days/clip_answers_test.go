package days_test

import (
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
)

// A told is all that the program says of one clip, or of one take of it.
type told struct {
	clip, take, setUp logbook.ID
	row               colorlog.Row
	corrected         advice.ClipCorrections
	correctable       bool
	correction        string
	findings          []*deviation.Deviation // that list it
}

func (t *told) name() string {
	if n := t.row.Find.Take; n != nil {
		return fmt.Sprintf("camera %s in %s %s", t.row.Find.Camera, n.Kind, n.Number)
	}
	return fmt.Sprintf("a clip of camera %s at %s (%s)", t.row.Find.Camera, t.row.Find.StartedAt.Format("15:04"), t.row.Find.ClipKind)
}

type toldKey struct{ clip, take logbook.ID }

// tell asks about every clip of a production.
func tell(b *logbook.Book, now logbook.Millis) map[toldKey]*told {
	all, found, corrections := map[toldKey]*told{}, map[logbook.ID][]deviation.Deviation{}, map[logbook.ID]*told{}
	for _, row := range rowsOf(b) {
		t := &told{clip: row.Find.ClipRecord, setUp: row.Find.SetUpRecord, row: row}
		if row.Find.Take != nil {
			t.take = row.Find.Take.Record
		}
		if _, ok := found[t.setUp]; !ok {
			found[t.setUp] = deviationsOf(b, t.setUp, now)
		}
		for i := range found[t.setUp] {
			if d := &found[t.setUp][i]; lists(d, t.take, t.clip) {
				t.findings = append(t.findings, d)
			}
		}
		if same, ok := corrections[t.clip]; ok {
			t.corrected, t.correctable, t.correction = same.corrected, same.correctable, same.correction
		} else {
			t.corrected, t.correctable, t.correction = correctionOf(b, t.clip, now)
			corrections[t.clip] = t
		}
		all[toldKey{t.clip, t.take}] = t
	}
	return all
}

// plainRow is a row without the sentences of findings, which also speak of other takes, and
// without what people wrote about it and have to settle.
func (t *told) plainRow() string {
	row := t.row
	row.Off.Worst, row.Off.Notes, row.Off.Missing, row.Off.Twins, row.Off.Conflicts = "", nil, nil, nil, nil
	row.Off.Findings, row.Off.Count, row.Off.Accepted = nil, 0, 0
	row.Gives.LaterCards = ""                                     // it only mentions them
	row.Gives.ChartClip, row.Gives.ChartRecord = "", logbook.ID{} // a chart that is shot later is the nearest there is
	return textOf(row)
}

// aboutWhat tells findings apart: the sentence and the cause may say which way something is
// off, and that may turn with what comes later. A finding about several lights is one about
// each: whom it is told of together with may change too.
func aboutWhat(d *deviation.Deviation) (all []string) {
	for _, id := range d.Subjects {
		all = append(all, d.Kind+" "+id.String())
	}
	return all
}

// causes are what the findings that list a clip are about.
func (t *told) causes() (all []string) {
	for _, d := range t.findings {
		all = append(all, aboutWhat(d)...)
	}
	slices.Sort(all)
	return all
}

// words are the findings that list a clip, as they are read. That whites have no colour is one
// finding for all of them, also for those in force now.
func (t *told) words() string {
	var all []string
	for _, d := range t.findings {
		if all = append(all, d.Kind+": "+d.Words); d.Kind == deviation.WhiteUnresolved {
			all[len(all)-1] = d.Kind
		}
	}
	return strings.Join(all, "; ")
}

func viewOf(b *logbook.Book, kind logbook.Kind, id logbook.ID) logbook.View {
	v, _ := b.RecordOf(kind, id)
	return v
}

func takeView(b *logbook.Book, id logbook.ID) logbook.View { return viewOf(b, kinds.Take, id) }

// unmarked is all that is told of a clip but what is marked as after closing.
func (t *told) unmarked() string {
	marked := *t
	marked.row.Off.AfterClosing = nil
	return marked.plainRow() + marked.correction
}
