package sheet

import (
	"archive/zip"
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// ErrFull is wrapped by errors about a sheet that holds no more.
var ErrFull = errors.New("a sheet holds no more")

// The bounds of the format.
const (
	mostRows    = 1_048_576
	mostColumns = 16_384
	mostText    = 32_767 // UTF-16 units in a cell
)

// Kind is what the cells of a column hold.
type Kind int

const (
	Text Kind = iota
	Number
	Date // yyyy-mm-dd
	YesOrNo
)

// A Column of a sheet. A cell that is not of its kind is written as text.
type Column struct {
	Name  string
	Kind  Kind
	Width int // in digits
}

// Book is a workbook that is being written.
type Book struct {
	zip    *zip.Writer
	out    *bufio.Writer // of the sheet that is open
	names  []string
	sheets []opened
	rows   int
}

// opened is what is to be said of a sheet again: where its filters are.
type opened struct {
	columns int
	rows    int
}

// New begins a workbook.
func New(w io.Writer) *Book { return &Book{zip: zip.NewWriter(w)} }

// entry begins a part of the file. Its time is none, so that the same calls give the same bytes.
func (b *Book) entry(name string) (io.Writer, error) {
	return b.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
}

const declaration = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"

// Sheet begins a sheet, of which the first columns stay in sight, and ends the one before.
func (b *Book) Sheet(name string, columns []Column, frozen int) error {
	if len(columns) == 0 || len(columns) > mostColumns {
		return fmt.Errorf("%w: %d columns in sheet %s, allowed are 1 to %d", ErrFull, len(columns), name, mostColumns)
	}
	if err := b.endSheet(); err != nil {
		return err
	}
	b.names = append(b.names, name)
	b.sheets = append(b.sheets, opened{columns: len(columns)})
	part, err := b.entry("xl/worksheets/sheet" + strconv.Itoa(len(b.names)) + ".xml")
	if err != nil {
		return err
	}
	b.out, b.rows = bufio.NewWriterSize(part, 32<<10), 0
	b.out.WriteString(declaration + `<worksheet xmlns="` + spreadsheetNS + `"><sheetViews><sheetView workbookViewId="0">`)
	split, corner, pane := "", "A2", "bottomLeft"
	if frozen > 0 {
		split, corner, pane = fmt.Sprintf(` xSplit="%d"`, frozen), place(frozen, 2), "bottomRight"
	}
	fmt.Fprintf(b.out, `<pane%s ySplit="1" topLeftCell="%s" activePane="%s" state="frozen"/></sheetView></sheetViews><cols>`, split, corner, pane)
	names := make([]string, len(columns))
	for i, c := range columns {
		fmt.Fprintf(b.out, `<col min="%d" max="%d" width="%d" customWidth="1"/>`, i+1, i+1, max(c.Width, 6))
		names[i] = c.Name
	}
	b.out.WriteString("</cols><sheetData>")
	return b.row(func(i int) { b.text(i, names[i], styleHead) }, len(columns))
}

// Row writes one row of the open sheet: a text for each of its columns.
func (b *Book) Row(columns []Column, cells []string) error {
	return b.row(func(i int) { b.cell(i, columns[i].Kind, cells[i]) }, len(columns))
}

func (b *Book) row(cell func(int), n int) error {
	if b.rows++; b.rows > mostRows {
		return fmt.Errorf("%w: more than %d rows in sheet %s", ErrFull, mostRows, b.names[len(b.names)-1])
	}
	b.out.WriteString(`<row r="` + strconv.Itoa(b.rows) + `">`)
	for i := range n {
		cell(i)
	}
	_, err := b.out.WriteString("</row>")
	return err
}

// The styles of styles.xml, by their place there.
const (
	stylePlain = "0"
	styleHead  = "1"
	styleDate  = "2"
	styleText  = "3"
)

func (b *Book) cell(column int, kind Kind, cell string) {
	switch kind {
	case Number:
		if number, ok := decimal(cell); ok {
			b.open(column, stylePlain, "n")
			b.out.WriteString("<v>" + number + "</v></c>")
			return
		}
	case YesOrNo:
		if cell == "yes" || cell == "no" {
			b.open(column, stylePlain, "b")
			b.out.WriteString("<v>" + map[string]string{"yes": "1", "no": "0"}[cell] + "</v></c>")
			return
		}
	case Date:
		if at, err := time.Parse(time.DateOnly, cell); err == nil && at.Year() >= 1901 {
			b.open(column, styleDate, "n")
			b.out.WriteString("<v>" + strconv.Itoa(int(at.Sub(serialZero).Hours()/24)) + "</v></c>")
			return
		}
	}
	b.text(column, cell, styleText)
}

// serialZero is day 0 of dates as numbers, from March 1900 on.
var serialZero = time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)

// decimal is a number as the format has it.
func decimal(cell string) (string, bool) {
	f, err := strconv.ParseFloat(cell, 64)
	if err != nil || strings.ContainsAny(cell, "xXpP_iInN") {
		return "", false
	}
	return strconv.FormatFloat(f, 'g', -1, 64), true
}

func (b *Book) open(column int, style, kind string) {
	b.out.WriteString(`<c r="` + place(column, b.rows) + `" s="` + style + `" t="` + kind + `">`)
}

// text writes a cell of text; an empty one is no cell at all.
func (b *Book) text(column int, cell, style string) {
	if cell == "" {
		return
	}
	b.open(column, style, "inlineStr")
	b.out.WriteString(`<is><t xml:space="preserve">`)
	escape(b.out, cell)
	b.out.WriteString("</t></is></c>")
}

// escape writes text of XML. What XML cannot hold is written as the format has it, _xHHHH_, and so is
// what looks like that; what is too long for a cell is cut off.
func escape(out *bufio.Writer, text string) {
	units := 0
	for i, r := range text {
		if units++; r > 0xFFFF {
			units++
		}
		if units > mostText-1 {
			out.WriteRune('…')
			return
		}
		switch {
		case r == '&':
			out.WriteString("&amp;")
		case r == '<':
			out.WriteString("&lt;")
		case r == '>':
			out.WriteString("&gt;")
		case r == '_' && escaped(text[i:]):
			out.WriteString("_x005F_")
		case r == '\t' || r == '\n':
			out.WriteRune(r)
		case r < ' ' || r == 0xFFFE || r == 0xFFFF:
			fmt.Fprintf(out, "_x%04X_", r)
		case r == utf8.RuneError:
			out.WriteRune('\uFFFD')
		default:
			out.WriteRune(r)
		}
	}
}

// escaped reports whether a text begins with what stands for one character: _xHHHH_.
func escaped(text string) bool {
	if len(text) < 7 || text[1] != 'x' || text[6] != '_' {
		return false
	}
	_, err := strconv.ParseUint(text[2:6], 16, 16)
	return err == nil
}

// place names a cell: place(0, 1) is A1.
func place(column, row int) string { return letters(column) + strconv.Itoa(row) }

func letters(column int) string {
	out := ""
	for column++; column > 0; column = (column - 1) / 26 {
		out = string(rune('A'+(column-1)%26)) + out
	}
	return out
}

func (b *Book) endSheet() error {
	if b.out == nil {
		return nil
	}
	s := &b.sheets[len(b.sheets)-1]
	s.rows = b.rows
	fmt.Fprintf(b.out, `</sheetData><autoFilter ref="A1:%s"/></worksheet>`, place(s.columns-1, s.rows))
	return b.out.Flush()
}
