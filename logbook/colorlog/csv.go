package colorlog

import (
	"encoding/csv"
	"io"
	"iter"
	"strings"
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

// harmless keeps a spreadsheet from running what somebody typed. Tabs, line feeds
// and carriage returns before the sign are skipped by some of them.
func harmless(cell string) string {
	if start := strings.TrimLeft(cell, " \t\r\n"); start != "" && strings.ContainsRune("=+-@", rune(start[0])) {
		return "'" + cell
	}
	return cell
}
