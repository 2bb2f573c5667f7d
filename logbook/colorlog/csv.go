package colorlog

import (
	"encoding/csv"
	"io"
	"iter"
	"strings"
	"unicode"
	"unicode/utf8"
)

// WriteCSV writes the rows as comma-separated values (RFC 4180), in UTF-8 and
// without a byte order mark, under a header row with the units. Cells that people
// typed and that a spreadsheet would take for a formula get a leading apostrophe.
func WriteCSV(w io.Writer, head Head, rows iter.Seq2[Row, error]) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	cells := make([]string, len(columns))
	for i, c := range columns {
		cells[i] = c.name
	}
	if err := out.Write(cells); err != nil {
		return err
	}
	for row, err := range rows {
		if err != nil {
			return err
		}
		for i, c := range columns {
			cells[i] = c.cell(&line{Row: &row, head: &head})
			if c.typed {
				cells[i] = harmless(cells[i])
			}
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
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
