package comparison

import (
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/states"
)

// Comparison is what changed between two states of a colour log.
type Comparison struct {
	Before string       `json:"before"` // the digest of a state
	After  string       `json:"after"`
	Clips  []ClipChange `json:"clips"` // the rows that differ, as they stand in the later state; then those that are gone
	Edits  []EditChange `json:"edits"` // those that only one of the states holds, by time
}

// ClipChange is one row of a clip that differs.
type ClipChange struct {
	Change string       `json:"change"` // changed, new or gone
	Name   string       `json:"name,omitempty"`
	Day    string       `json:"day,omitempty"` // number
	Scene  string       `json:"scene,omitempty"`
	SetUp  string       `json:"setUp,omitempty"`
	Take   string       `json:"take,omitempty"` // number and suffix
	Camera string       `json:"camera,omitempty"`
	Clip   logbook.ID   `json:"clip"`
	Cells  []CellChange `json:"cells,omitempty"` // of a row that is new or gone: none
	Edits  []string     `json:"edits"`           // the dots of those behind it
}

// CellChange is a cell that differs.
type CellChange struct {
	Column string   `json:"column"`
	Before string   `json:"before"`
	After  string   `json:"after"`
	Edits  []string `json:"edits"` // the dots of those behind it
}

// EditChange is an edit that only one of the states holds.
type EditChange struct {
	Dot    string       `json:"dot"`
	In     string       `json:"in"` // the state that holds it: before or after
	Kind   logbook.Kind `json:"kind"`
	Record logbook.ID   `json:"record"`
	Fields []string     `json:"fields"` // that it sets
	By     string       `json:"by"`
	At     time.Time    `json:"at"`               // corrected
	Reason string       `json:"reason,omitempty"` // where one was given
	Rows   int          `json:"rows"`             // how many rows differ because of it
}

// A Side is one of the two states. Lend lends its book until it is given back.
type Side struct {
	State states.State
	Lend  func() (from logbook.Lender, giveBack func(), err error)
}

// Edits reads edits by their dots.
type Edits func([]logbook.Dot) ([]logbook.Stored, error)

// Of compares two states of the rows of a scope. Both must be of one log, which holds their edits.
func Of(before, after Side, scope colorlog.Scope, edits Edits) (*Comparison, error) {
	out := &Comparison{Before: before.State.Key(), After: after.State.Key(), Clips: []ClipChange{}, Edits: []EditChange{}}
	c := &comparing{scope: scope, out: out, rows: map[logbook.Dot]int{}}
	var err error
	if c.gone, err = c.between.only(before.State, after.State, edits); err != nil {
		return nil, err
	}
	if c.came, err = c.between.only(after.State, before.State, edits); err != nil {
		return nil, err
	}
	if err := c.with(before, c.shelve); err != nil {
		return nil, err
	}
	if err := c.with(after, c.compare); err != nil {
		return nil, err
	}
	c.end()
	return c.out, nil
}

type comparing struct {
	scope      colorlog.Scope
	out        *Comparison
	gone, came []*logbook.Edit // those that the earlier or the later state alone holds
	between    causes          // both
	shelf      shelf
	rows       map[logbook.Dot]int // by edit: how many rows differ because of it
}

func (c *comparing) with(side Side, walk func(logbook.Lender) error) error {
	from, giveBack, err := side.Lend()
	if err != nil {
		return err
	}
	defer giveBack()
	c.between.place(from)
	return walk(from)
}

// shelve puts the rows of the earlier state away.
func (c *comparing) shelve(from logbook.Lender) error {
	for row, err := range colorlog.Rows(from, c.scope) {
		if err != nil {
			return err
		}
		c.shelf.put(kept{key: keyOf(&row), head: headOf(&row), cells: cellsOf(&row), behind: c.between.of(from, &row)})
	}
	c.shelf.close()
	return nil
}

// compare holds the rows of the later state against them.
func (c *comparing) compare(from logbook.Lender) error {
	for row, err := range colorlog.Rows(from, c.scope) {
		if err != nil {
			return err
		}
		was, here, err := c.shelf.take(keyOf(&row))
		if err != nil {
			return err
		}
		change, cells := headOf(&row), cellsOf(&row)
		if !here {
			change.Change = "new"
			c.add(change, c.between.of(from, &row), nil)
			continue
		}
		if slices.Equal(was.cells, cells) {
			continue
		}
		change.Change = "changed"
		behind := c.between.of(from, &row).and(was.behind)
		for i, column := range compared {
			if was.cells[i] != cells[i] {
				change.Cells = append(change.Cells, CellChange{Column: column.Name, Before: was.cells[i], After: cells[i]})
			}
		}
		c.add(change, behind, change.Cells)
	}
	for _, k := range c.shelf.left() {
		k.head.Change = "gone"
		c.add(k.head, k.behind, nil)
	}
	return nil
}

// add adds a row that differs, with the edits behind it and behind each of its cells.
func (c *comparing) add(change ClipChange, behind behind, cells []CellChange) {
	all := behind.all()
	if len(cells) > 0 {
		all = nil
	}
	for i := range cells {
		dots := behind.cell(cells[i].Column)
		cells[i].Edits = texts(dots)
		all = append(all, dots...)
	}
	slices.SortFunc(all, compareDots)
	all = slices.Compact(all)
	for _, d := range all {
		c.rows[d]++
	}
	change.Edits = texts(all)
	c.out.Clips = append(c.out.Clips, change)
}

// end lists the edits.
func (c *comparing) end() {
	for in, edits := range map[string][]*logbook.Edit{"before": c.gone, "after": c.came} {
		for _, e := range edits {
			told := EditChange{Dot: e.Dot.String(), In: in, Kind: e.Kind, Record: e.Record, By: e.By, At: e.Corrected().Time(),
				Reason: reasonOf(e), Rows: c.rows[e.Dot]}
			for _, change := range e.Set {
				told.Fields = append(told.Fields, change.Field)
			}
			c.out.Edits = append(c.out.Edits, told)
		}
	}
	slices.SortFunc(c.out.Edits, func(a, b EditChange) int {
		if d := a.At.Compare(b.At); d != 0 {
			return d
		}
		return strings.Compare(a.Dot, b.Dot)
	})
}

// reasonOf is the reason that an edit gives: for accepting, or for striking out.
func reasonOf(e *logbook.Edit) string {
	for _, c := range e.Set {
		value := c.Value
		if c.Field != "reason" {
			value = value.Member("reason")
		}
		if text, ok := value.Text(); ok {
			return text
		}
	}
	return ""
}

// compared are the columns whose cells are compared: not those that name the document, nor those that say
// why others are empty.
var compared = slices.DeleteFunc(colorlog.Columns(), func(c colorlog.Column) bool {
	return c.Name == "state" || c.Name == colorlog.StateNameColumn || c.Name == "program" || strings.HasSuffix(c.Name, ": empty because")
})

func cellsOf(row *colorlog.Row) []string {
	cells := make([]string, len(compared))
	for i, c := range compared {
		cells[i] = c.Cell(&colorlog.Head{}, row)
	}
	return cells
}

func headOf(row *colorlog.Row) ClipChange {
	f := row.Find
	c := ClipChange{Name: f.ClipName, Day: f.DayNumber.String(), Scene: f.Scene, SetUp: f.SetUp, Camera: f.Camera, Clip: f.ClipRecord}
	if f.Take != nil {
		c.Take = f.Take.Number.String() + f.Take.Suffix
	}
	return c
}

func compareDots(a, b logbook.Dot) int {
	switch {
	case a.Less(b):
		return -1
	case b.Less(a):
		return 1
	}
	return 0
}

func texts(dots []logbook.Dot) []string {
	all := make([]string, len(dots))
	for i, d := range dots {
		all[i] = d.String()
	}
	return all
}
