package handover

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/sheet"
)

// A workbook has a sheet of the rows as the table for programs has them, then what was
// read, what is off, the cameras, and what the columns mean.
type workbook struct {
	*Log
	book    *sheet.Book
	of      []colorlog.Column
	columns []sheet.Column
	cells   []string
}

// widest is how wide a column of sentences is, in digits.
const widest = 40

// dateWidth is what a date needs: in a narrower column it is shown as ###.
const dateWidth = 12

func newXLSX(w io.Writer, l *Log) (colorlog.RowWriter, error) {
	b := &workbook{Log: l, book: sheet.New(w)}
	b.of = slices.DeleteFunc(colorlog.Columns(), func(c colorlog.Column) bool { return c.Name == colorlog.StateNameColumn })
	b.columns, b.cells = make([]sheet.Column, len(b.of)), make([]string, len(b.of))
	for i, c := range b.of {
		b.columns[i] = sheet.Column{Name: c.Name, Kind: kindOf(c.Kind), Width: min(widest, len(c.Name)+2)}
		if c.Kind == colorlog.Date {
			b.columns[i].Width = max(b.columns[i].Width, dateWidth)
		}
	}
	return b, b.book.Sheet("clips", b.columns, 1)
}

func (b *workbook) Row(row *colorlog.Row) error {
	for i, c := range b.of {
		b.cells[i] = c.Cell(&b.Head, row)
	}
	return b.book.Row(b.columns, b.cells)
}

func (b *workbook) End() error {
	for _, write := range []func(*sheet.Book, *Log) error{readings, deviations, bodies, about} {
		if err := write(b.book, b.Log); err != nil {
			return err
		}
	}
	return b.book.Close()
}

// kindOf is how a cell of a column is typed: names and codes are text, whatever they look like.
func kindOf(k colorlog.Kind) sheet.Kind {
	switch k {
	case colorlog.Number, colorlog.Whole:
		return sheet.Number
	case colorlog.Date:
		return sheet.Date
	case colorlog.YesOrNo:
		return sheet.YesOrNo
	}
	return sheet.Text
}

// eachSetUp looks at the set-ups of the scope, each in a call of its own.
func (l *Log) eachSetUp(look func(*logbook.Book, logbook.View) [][]string, take func([]string) error) error {
	var setUps []logbook.View
	var err error
	l.from.Read(func(b *logbook.Book) { setUps, err = colorlog.SetUps(b, l.scope) })
	if err != nil {
		return err
	}
	for _, view := range setUps {
		var rows [][]string
		l.from.Read(func(b *logbook.Book) { rows = look(b, view) })
		for _, row := range rows {
			if err := take(row); err != nil {
				return err
			}
		}
	}
	return nil
}

var readingColumns = []sheet.Column{
	{Name: "set-up", Width: 16}, {Name: "taken at (UTC)", Width: 21}, {Name: "of", Width: 24}, {Name: "CCT (K)", Kind: sheet.Number},
	{Name: "Duv", Kind: sheet.Number}, {Name: "x", Kind: sheet.Number}, {Name: "y", Kind: sheet.Number},
	{Name: "illuminance (lx)", Kind: sheet.Number, Width: 16}, {Name: "position", Width: 16}, {Name: "sky", Width: 10}, {Name: "purpose",
		Width: 10},
	{Name: "meter", Width: 16}, {Name: "why no colour", Width: widest}, {Name: "entered by", Width: 16}, {Name: "record", Width: 37},
}

func readings(book *sheet.Book, l *Log) error {
	if err := book.Sheet("readings", readingColumns, 1); err != nil {
		return err
	}
	return l.eachSetUp(func(b *logbook.Book, setUp logbook.View) (rows [][]string) {
		for _, m := range setup.ReadingsOf(b, setUp.ID) {
			rows = append(rows, readingCells(b, setUp, m))
		}
		return rows
	}, func(cells []string) error { return book.Row(readingColumns, cells) })
}

func readingCells(b *logbook.Book, setUp logbook.View, m *lighting.Reading) []string {
	view, _ := b.RecordOf(kinds.Reading, m.Reading)
	meter, _ := b.RecordOf(kinds.Meter, m.Meter)
	of := colorlog.Spoken(m.Of)
	var lights []string
	for _, id := range m.Lights {
		if light, ok := b.RecordOf(kinds.Light, id); ok {
			lights = append(lights, light.Text("name"))
		}
	}
	if len(lights) > 0 {
		of = strings.Join(lights, ", ")
	}
	cells := []string{colorlog.NameOf(b, setUp), m.TakenAt.Time().Format(time.RFC3339), of, "", "", "", "", decimal(m.IlluminanceLux),
		m.Position,
		colorlog.Spoken(m.Sky), colorlog.Spoken(m.Purpose), "", m.Problem, view.CreatedBy(), m.Reading.String()}
	if meter.Known() {
		cells[11] = meter.Text("name")
	}
	if c := m.Color; c != nil {
		cells[3], cells[4], cells[5], cells[6] = decimal(c.CCTKelvin), decimal(c.Duv), decimal(&c.X), decimal(&c.Y)
	}
	return cells
}

func decimal(f *float64) string {
	if f == nil {
		return ""
	}
	return strconv.FormatFloat(*f, 'f', -1, 64)
}

var deviationColumns = []sheet.Column{
	{Name: "set-up", Width: 16}, {Name: "what is off", Width: widest}, {Name: "how many", Kind: sheet.Number, Width: 10},
	{Name: "mired", Kind: sheet.Number}, {Name: "Duv", Kind: sheet.Number}, {Name: "steps", Kind: sheet.Number},
	{Name: "limit (mired)", Kind: sheet.Number, Width: 12}, {Name: "accepted", Kind: sheet.YesOrNo, Width: 10}, {Name: "because",
		Width: widest},
	{Name: "accepted by", Width: 16}, {Name: "in a sentence", Width: widest}, {Name: "kind", Width: 20},
}

func deviations(book *sheet.Book, l *Log) error {
	if err := book.Sheet("deviations", deviationColumns, 1); err != nil {
		return err
	}
	var summarizer *glance.Summarizer
	l.from.Read(func(b *logbook.Book) { summarizer = glance.NewSummarizer(b) })
	return l.eachSetUp(func(b *logbook.Book, setUp logbook.View) (rows [][]string) {
		for _, d := range summarizer.Summarize(setUp).Deviations() {
			rows = append(rows, deviationCells(colorlog.NameOf(b, setUp), d))
		}
		return rows
	}, func(cells []string) error { return book.Row(deviationColumns, cells) })
}

func deviationCells(setUp string, d deviation.Deviation) []string {
	var value, limit figure.Size
	if d.Value != nil {
		value = *d.Value
	}
	if d.Limit != nil {
		limit = *d.Limit
	}
	cells := []string{setUp, d.Headline, strconv.Itoa(d.Count), decimal(value.Mired), decimal(value.Duv), decimal(value.Steps),
		decimal(limit.Mired),
		"no", "", "", d.Words, d.Kind}
	if d.Accepted != nil {
		cells[7], cells[8], cells[9] = "yes", d.Accepted.Reason, d.Accepted.By
	}
	return cells
}

var cameraColumns = []sheet.Column{
	{Name: "camera", Width: 10}, {Name: "body", Width: 20}, {Name: "operator", Width: 20}, {Name: "ways to set white", Width: 24},
	{Name: "where tint 0 lies", Width: 20}, {Name: "recording modes", Width: widest},
}

func bodies(book *sheet.Book, l *Log) error {
	if err := book.Sheet("cameras", cameraColumns, 1); err != nil {
		return err
	}
	var rows [][]string
	l.from.Read(func(b *logbook.Book) {
		for _, camera := range b.Records(kinds.Camera) {
			rows = append(rows, cameraCells(b, camera))
		}
	})
	for _, cells := range rows {
		if err := book.Row(cameraColumns, cells); err != nil {
			return err
		}
	}
	return nil
}

func cameraCells(b *logbook.Book, camera logbook.View) []string {
	cells := []string{camera.Text("letter"), "", camera.Text("operator"), "", "", ""}
	id, _ := camera.Value("body").Member("body").ID()
	body, ok := b.RecordOf(kinds.Body, id)
	if !ok {
		return cells
	}
	var ways, modes []string
	for item := range body.Value("whiteModes").Items() {
		way, _ := item.Text()
		ways = append(ways, colorlog.Spoken(way))
	}
	for _, key := range body.Keys("recordingModes") {
		mode := body.Value("recordingModes/" + key)
		name, _ := mode.Member("name").Text()
		encoding, _ := mode.Member("encoding").Text()
		primaries, _ := mode.Member("primaries").Text()
		modes = append(modes, strings.Trim(name+": "+colorlog.EncodingWords(encoding, primaries), ": "))
	}
	cells[1], cells[3], cells[4], cells[5] = body.Text("label"), strings.Join(ways, ", "), colorlog.Spoken(body.Text("tintZero")),
		strings.Join(modes, "; ")
	return cells
}

// longestCell is how many characters a cell of a workbook may hold, and some to spare.
const longestCell = 32_000

// pieces cuts a text of ASCII.
func pieces(text string, most int) (all []string) {
	for ; len(text) > most; text = text[most:] {
		all = append(all, text[:most])
	}
	return append(all, text)
}

var aboutColumns = []sheet.Column{{Name: "what", Width: widest}, {Name: "is", Width: 100}}

// about says where the workbook comes from, and what each column of the clips means.
func about(book *sheet.Book, l *Log) error {
	limits, err := l.limits()
	if err != nil {
		return err
	}
	if err := book.Sheet("about", aboutColumns, 0); err != nil {
		return err
	}
	h := l.top()
	rows := [][]string{
		{"production", h.Production.Title}, {"state", h.State.Digest}, {"state in words", h.State.Words},
		{"entries of the state", strconv.FormatUint(h.State.Edits, 10)}, {"program", h.Program}, {"signs", h.Signs},
	}
	for i, piece := range pieces(h.State.Name, longestCell) {
		rows = append(rows, []string{fmt.Sprint("name of the state, part ", i+1), piece})
	}
	rows = append(rows, howRight(h.HowRight)...)
	for _, shared := range limits {
		for _, m := range shared.Limits {
			rows = append(rows, []string{"limits of " + m.Role, m.Words() + ": " + strings.Join(shared.SetUps, "; ")})
		}
	}
	for _, c := range colorlog.Columns() {
		rows = append(rows, []string{"column " + c.Name, c.About})
	}
	for _, cells := range rows {
		if err := book.Row(aboutColumns, cells); err != nil {
			return err
		}
	}
	return nil
}

// howRight says how right the log was, camera by camera.
func howRight(h *cameras.HowRight) [][]string {
	rows := [][]string{{"how right it was", h.Words}}
	for _, camera := range h.Cameras {
		rows = append(rows, []string{"how right: " + camera.Name(), camera.Words})
		for _, b := range camera.ByBasis {
			rows = append(rows, []string{"how right: " + camera.Name() + " from " + b.Basis, fmt.Sprintf(
				"cards: %d, half of them off by %.1f steps or less, the worst by %.1f", b.Tried, b.MedianSteps, b.WorstSteps)})
		}
	}
	for _, u := range h.Untried {
		rows = append(rows, []string{"how right: cards left out", u.Why + ": " + many(u.Cards, "card", "cards")})
	}
	return rows
}
