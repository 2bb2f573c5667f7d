package colorlog

import "slices"

// A Column of the forms for tables. Its name has the unit; About says what stands in it and, where
// it may be empty without a reason beside it, when.
type Column struct {
	Name  string
	About string
	Kind  Kind
	cell  func(*line) string
	// empty says why a cell of it is empty; nil: the column is for some rows alone.
	empty func(*line) string
}

// Kind is what a cell of a column holds.
type Kind int

const (
	Typed        Kind = iota // words of people, as they were typed
	Words                    // words of the program, in which names that people typed may stand
	Number                   // a decimal
	Whole                    // an integer
	YesOrNo                  // yes or no
	Date                     // yyyy-mm-dd
	Moment                   // RFC 3339
	TimecodeText             // hh:mm:ss:ff, before the frames ; where frames are dropped
)

// line is a row with what stands around it.
type line struct {
	*Row
	head  *Head
	first bool // of a table
}

// A group of columns is followed by one that says why cells of it are empty.
type group struct {
	name    string
	columns []Column
}

var groups = []group{
	{"find", findColumns}, {"set", setColumns}, {"off", offColumns}, {"correction", correctionColumns},
	{"meant", meantColumns}, {"there", thereColumns}, {"gives", givesColumns}, {"origin", originColumns},
}

// columns are all, as the forms for tables have them.
var columns = allColumns()

func allColumns() (all []Column) {
	for _, g := range groups {
		all = append(all, g.columns...)
		if slices.ContainsFunc(g.columns, func(c Column) bool { return c.empty != nil }) {
			all = append(all, Column{
				Name: g.name + ": empty because", About: "why cells of the columns before it are empty, column by column; empty: none is",
				Kind: Words, cell: func(l *line) string { return g.reasons(l) },
			})
		}
	}
	return all
}

// reasons says why cells of a group are empty: "timecode start, timecode end: not logged".
func (g group) reasons(l *line) string {
	var why []string
	of := map[string]string{}
	for _, c := range g.columns {
		if c.empty == nil || c.cell(l) != "" {
			continue
		}
		reason := c.empty(l)
		if of[reason] == "" {
			why, of[reason] = append(why, reason), c.Name
			continue
		}
		of[reason] += ", " + c.Name
	}
	out := ""
	for i, reason := range why {
		if i > 0 {
			out += "; "
		}
		out += of[reason] + ": " + reason
	}
	return out
}

func because(words string) func(*line) string { return func(*line) string { return words } }

var notLogged = because("not logged")

// Columns are all columns, in order.
func Columns() []Column { return slices.Clone(columns) }

// Cell is the cell of a row.
func (c Column) Cell(head *Head, row *Row) string { return c.text(&line{Row: row, head: head}) }

// text is a cell as it stands in a table: codes and sentences of the program in plain ASCII, what
// people typed as they typed it.
func (c Column) text(l *line) string {
	cell := c.cell(l)
	if c.Kind == Words {
		return plainSigns.Replace(cell)
	}
	return cell
}
