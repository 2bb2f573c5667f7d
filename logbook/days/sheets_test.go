package days_test

import (
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/rebuild"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/wrap"
)

// asRigged: a sheet to build a set-up again by has each dial as it was set at the take, and is the same
// whenever it is asked; the reading beside a light is the one that speaks of it.
var asRigged = law{name: "as rigged", must: []string{"a sheet has a dial", "a sheet has a reading"}, holds: func(d *played) error {
	b := d.all()
	for _, p := range d.places {
		if len(p.takes) == 0 {
			continue
		}
		asked := rebuild.Query{SetUp: p.setUp, Take: p.takes[len(p.takes)/2]}
		if viewOf(b, kinds.Take, asked.Take).Deleted() {
			continue
		}
		sheet, err := rebuild.Of(b, asked, d.soon())
		if err != nil {
			return err
		}
		late, err := rebuild.Of(b, asked, d.clock+muchLater)
		if err != nil {
			return err
		}
		if x, y := textOf(sheet), textOf(late); x != y {
			return fmt.Errorf("the sheet of %s: %s", sheet.AsOf, firstDifference(x, y))
		}
		o := oracleFor(b, p.setUp)
		at := logbook.MillisOf(*sheet.At)
		for _, l := range sheet.Lights {
			if err := d.sameRigging(o, l.Rigged, at); err != nil {
				return fmt.Errorf("%s, %s: %w", sheet.AsOf, l.Rigged.Name, err)
			}
		}
	}
	return nil
}}

func (d *played) sameRigging(o *oracle, l rigging.RiggedLight, at logbook.Millis) error {
	light := viewOf(o.book, kinds.Light, l.Light)
	for field, has := range map[string]*rigging.RiggedValue{
		"dialKelvin": l.DialKelvin, "dialGreenMagenta": l.DialGreenMagenta, "levelPercent": l.LevelPercent,
	} {
		want, got := "", ""
		for _, s := range o.history(light, field) {
			if s.at <= at {
				want = strings.TrimPrefix(s.value, string(logbook.Null))
			}
		}
		if has != nil {
			got = has.Value.String()
			d.happened["a sheet has a dial"]++
		}
		if got != want {
			return fmt.Errorf("%s is %q on the sheet, and was %q", field, got, want)
		}
	}
	a := o.courseOf(light, false).at(at)
	if (l.Reading != nil) != (a.how != "") {
		return fmt.Errorf("the sheet has the reading %s, and what speaks of it is %q", textOf(l.Reading), a.how)
	}
	if l.Reading != nil {
		d.happened["a sheet has a reading"]++
	}
	return nil
}

// whatIsOpen: the check at the wrap names all that is open of a day, and nothing else.
var whatIsOpen = law{name: "what is open", must: []string{"a name is open", "a day is open", "something is undecided"},
	holds: checksWrap}

func checksWrap(d *played) error {
	b := d.all()
	for _, day := range d.days {
		check, err := wrap.Of(b, day, wrap.Known{}, d.soon())
		if err != nil {
			return err
		}
		names, undecided, closing := []string{}, 0, false
		for _, item := range check.Items {
			if item.Address == "" || item.ToDo == "" || item.Words == "" {
				return fmt.Errorf("nobody knows what to do: %s", textOf(item))
			}
			switch item.Kind {
			case wrap.NameNotSure:
				for _, id := range item.Records {
					names = append(names, id.String())
				}
			case wrap.Undecided:
				undecided++
			case wrap.DayNotClosed:
				closing = true
			}
		}
		if err := d.openNames(b, day, names); err != nil {
			return err
		}
		closed := viewOf(b, kinds.Day, day).Field("closed")
		if open := closed.Conflict || closed.Shown.Value != "true"; open != closing {
			return fmt.Errorf("the day is open: %v; by the check: %v", open, closing)
		}
		if closing {
			d.happened["a day is open"]++
		}
		if err := d.openFields(b, day, undecided); err != nil {
			return err
		}
	}
	return nil
}

// openNames are those of clips that rolled, and nobody read off.
func (d *played) openNames(b *logbook.Book, day logbook.ID, got []string) error {
	var want []string
	for _, clip := range b.Records(kinds.Clip) {
		setUp := viewOf(b, kinds.SetUp, clip.Ref("setUp"))
		from, _ := clip.Value("name").Member("from").Text()
		ofDay := setUp.Known() && !setUp.Deleted() && setUp.Ref("day") == day
		if ofDay && from != "readOff" && from != "fromListing" && clip.Value("rolled") != "false" {
			want = append(want, clip.ID.String())
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		return fmt.Errorf("names that nobody read off: %v; by the check: %v", want, got)
	}
	if len(want) > 0 {
		d.happened["a name is open"]++
	}
	return nil
}

// openFields counts conflicts, where a record that was struck out is one question; of records of other days
// none.
func (d *played) openFields(b *logbook.Book, day logbook.ID, got int) error {
	want, struck := 0, logbook.IDSet{}
	for _, f := range amend.Conflicts(b) {
		v := viewOf(b, f.Kind, f.Record)
		of := v
		if f.Kind == kinds.Sample && v.Ref("setUp").IsZero() {
			of = viewOf(b, kinds.Clip, v.Ref("clip"))
		}
		setUp := viewOf(b, kinds.SetUp, of.Ref("setUp"))
		if f.Kind == kinds.SetUp {
			setUp = v
		}
		elsewhere := setUp.Known() && setUp.Ref("day") != day || f.Kind == kinds.Day && f.Record != day
		if f.Kind == kinds.Note || f.Kind == kinds.Acceptance || elsewhere || f.Deletion && struck[v.ID] {
			continue
		}
		if want++; f.Deletion {
			struck.Add(v.ID)
		}
	}
	if got != want {
		return fmt.Errorf("%d questions are undecided; by the check: %d", want, got)
	}
	if want > 0 {
		d.happened["something is undecided"]++
	}
	return nil
}
