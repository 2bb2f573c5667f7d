package colorlog

import (
	"bufio"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

type csvWriter struct {
	out   *bufio.Writer
	head  Head
	begun bool // a row was written
}

// NewCSV writes rows as comma-separated values (RFC 4180), in UTF-8 and
// without a byte order mark, under a header row with the units. All but what people
// typed is ASCII. Cells that people typed and that a spreadsheet would take for a formula get a
// leading apostrophe; what stands in a cell stands as it was typed, line ends too.
func NewCSV(w io.Writer, head Head) RowWriter {
	c := &csvWriter{out: bufio.NewWriterSize(w, 32<<10), head: head}
	for i, column := range columns {
		writeCell(c.out, i, column.Name)
	}
	c.out.WriteString("\r\n")
	return c
}

func (c *csvWriter) Row(row *Row) error {
	for i, column := range columns {
		cell := column.text(&line{Row: row, head: &c.head, first: !c.begun})
		if column.Kind == Typed || column.Kind == Words || column.Kind == TimecodeText {
			cell = harmless(cell)
		}
		writeCell(c.out, i, cell)
	}
	c.begun = true
	_, err := c.out.WriteString("\r\n")
	return err
}

func (c *csvWriter) End() error { return c.out.Flush() }

func writeCell(out *bufio.Writer, place int, cell string) {
	if place > 0 {
		out.WriteByte(',')
	}
	if !strings.ContainsAny(cell, "\",\r\n") && strings.TrimSpace(cell) == cell {
		out.WriteString(cell)
		return
	}
	out.WriteByte('"')
	out.WriteString(strings.ReplaceAll(cell, `"`, `""`))
	out.WriteByte('"')
}

// harmless keeps a spreadsheet from running what somebody typed. Some skip what is not
// to be seen before a sign, and some take a sign of full width for the plain one.
func harmless(cell string) string {
	start := strings.TrimLeftFunc(cell, unseen)
	if first, _ := utf8.DecodeRuneInString(start); start != "" && strings.ContainsRune("=+-@＝＋－＠﹦﹢﹣﹫", first) {
		return "'" + cell
	}
	return cell
}

// unseen reports whether nobody sees a character: white space, controls, marks of
// direction and joining, tags, the byte order mark, fillers of Hangul and Braille, and
// what only combines with a character that is not there.
func unseen(r rune) bool {
	return unicode.IsSpace(r) || unicode.In(r, unicode.Cc, unicode.Cf, unicode.M, unicode.Zs, unicode.Other_Default_Ignorable_Code_Point) ||
		r == '\u2800' || r == utf8.RuneError
}
