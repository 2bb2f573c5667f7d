package handover

import (
	"bufio"
	"cmp"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"maps"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/picture"
)

//go:embed report.html
var reportText string

// report has four parts: the head, what stands before the set-ups, one set-up, and the end.
var report = template.Must(template.New("report").Funcs(
	template.FuncMap{"spoken": colorlog.Spoken, "many": many[int], "lit": lit}).Parse(reportText))

// writeHTML writes one file for people and paper, which loads nothing: a cover, then a block for each
// set-up with its pictures.
func writeHTML(w io.Writer, l *Log) error {
	top := l.newCover()
	if err := report.ExecuteTemplate(w, "head", top); err != nil { // it leaves before all rows are counted
		return err
	}
	if err := colorlog.WriteRows(l.Rows(), top); err != nil {
		return err
	}
	return top.writePage(w, l)
}

// writePage writes what follows the head, once the whole log is counted.
func (c *cover) writePage(w io.Writer, l *Log) error {
	out := bufio.NewWriterSize(w, 32<<10)
	if err := report.ExecuteTemplate(out, "cover", c); err != nil {
		return err
	}
	if err := l.blocks(func(b *block) error { return report.ExecuteTemplate(out, "block", b) }); err != nil {
		return err
	}
	if err := report.ExecuteTemplate(out, "end", c); err != nil {
		return err
	}
	return out.Flush()
}

// cover is what the whole log comes to.
type cover struct {
	Head           colorlog.Head
	Rows, Clips    int
	SetUps         int
	Named, Charts  int
	Bases          []counted // how sure the corrections are
	Open, Accepted int       // rows with something off that nobody accepted, and that somebody did
	AfterClosing   int
	Notes          int // of which OpenNotes wait for an answer
	OpenNotes      int
	Worst          []worst
	notes          map[logbook.ID]bool // each is counted once
	setUp          logbook.ID          // of the row before
	bases          map[string]int
}

// Entries is how many edits the state was made of, as people call them.
func (c *cover) Entries() string { return many(c.Head.State.Edits, "entry", "entries") }

// many is a count with its noun.
func many[N int | uint64](n N, one, more string) string {
	if n == 1 {
		more = one
	}
	return fmt.Sprint(n, " ", more)
}

// lit is the colour of a light, and how far it is from the reference: where it has no colour temperature,
// both say so.
func lit(l colorlog.Light) string {
	var color, cast string
	if l.Color != nil {
		color = l.Color.Words
	}
	if l.Cast != nil {
		cast = l.Cast.Words
	}
	if strings.HasPrefix(cast, color) {
		return cast
	}
	return strings.Trim(color+", "+cast, ", ")
}

type counted struct {
	What  string
	Count int
}

// worst is a finding that nobody accepted.
type worst struct {
	SetUp string
	deviation.Deviation
}

// mostWorst is how many findings the cover has.
const mostWorst = 12

func (l *Log) newCover() *cover {
	return &cover{Head: l.top(), notes: map[logbook.ID]bool{}, bases: map[string]int{}}
}

func (c *cover) End() error {
	for _, basis := range slices.Sorted(maps.Keys(c.bases)) {
		c.Bases = append(c.Bases, counted{basis, c.bases[basis]})
	}
	return nil
}

// Row counts a row; those of a set-up come one after another.
func (c *cover) Row(row *colorlog.Row) error {
	if id := row.Find.SetUpRecord; id != c.setUp {
		if c.setUp = id; !id.IsZero() {
			c.SetUps++
			c.add(row.SetUp.Name, row.SetUp.Deviations)
		}
	}
	if c.Rows++; row.Off.Worst != "" {
		c.Open++
	}
	if row.Off.Accepted > 0 {
		c.Accepted++
	}
	if len(row.Off.AfterClosing) > 0 {
		c.AfterClosing++
	}
	for _, n := range row.Off.Notes {
		if c.notes[n.Record] {
			continue
		}
		c.notes[n.Record] = true
		if c.Notes++; n.Open {
			c.OpenNotes++
		}
	}
	if row.Find.Row != 1 {
		return nil
	}
	if c.Clips++; row.Find.ClipName != "" {
		c.Named++
	}
	if !row.Gives.ChartRecord.IsZero() {
		c.Charts++
	}
	c.bases[cmp.Or(row.Correction.Basis, "no correction")]++
	return nil
}

// add keeps the worst of the findings, those of one set-up at a time, in any order.
func (c *cover) add(setUp string, found []deviation.Deviation) {
	for _, d := range found {
		if d.Accepted == nil {
			c.Worst = append(c.Worst, worst{setUp, d})
		}
	}
	all := make([]deviation.Deviation, len(c.Worst))
	of := map[string]worst{}
	slices.SortFunc(c.Worst, func(a, b worst) int { return cmp.Or(cmp.Compare(a.SetUp, b.SetUp), cmp.Compare(a.Cause, b.Cause)) })
	for i, w := range c.Worst {
		all[i] = w.Deviation
		of[w.Cause+w.Deviation.SetUp.String()] = w
	}
	deviation.Sort(all)
	c.Worst = c.Worst[:0]
	for _, d := range all[:min(len(all), mostWorst)] {
		c.Worst = append(c.Worst, of[d.Cause+d.SetUp.String()])
	}
}

// block is what is said of one set-up.
type block struct {
	Name, Description string
	Rows              []colorlog.Row
	Deviations        []deviation.Deviation
	Plane, Swatches   template.URL // pictures as data
}

// First is the row that speaks for white and lights of the block.
func (b *block) First() *colorlog.Row { return &b.Rows[len(b.Rows)-1] }

// blocks hands on the set-ups, one after another as they were shot.
func (l *Log) blocks(take func(*block) error) error {
	var rows []colorlog.Row
	flush := func() error {
		if len(rows) == 0 {
			return nil
		}
		b := &block{Name: "Clips whose set-up is not in the log", Rows: rows}
		if id := rows[0].Find.SetUpRecord; !id.IsZero() {
			b.Name, b.Deviations = rows[0].SetUp.Name, rows[0].SetUp.Deviations
			l.from.Read(func(book *logbook.Book) { b.draw(book, id) })
		}
		rows = nil
		return take(b)
	}
	for row, err := range l.Rows() {
		if err != nil {
			return err
		}
		if len(rows) > 0 && rows[0].Find.SetUpRecord != row.Find.SetUpRecord {
			if err := flush(); err != nil {
				return err
			}
		}
		rows = append(rows, row)
	}
	return flush()
}

func (b *block) draw(book *logbook.Book, id logbook.ID) {
	view, _ := book.RecordOf(kinds.SetUp, id)
	b.Description = view.Text("description")
	// As it was at the wrap: the same bytes whenever it is asked.
	if plane, err := glance.Plane(book, id, logbook.Ever); err == nil {
		b.Plane = asData(picture.Plane(plane))
	}
	if swatches, err := glance.Swatches(book, id, logbook.Ever); err == nil {
		b.Swatches = asData(picture.Swatches(swatches))
	}
}

// asData is a picture within the page. On paper it is light, whatever the screen prefers.
func asData(svg []byte) template.URL {
	light := strings.ReplaceAll(string(svg), "prefers-color-scheme:dark", "not all")
	return template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString([]byte(light)))
}
