package colorlog

import (
	"io"
	"iter"
)

// A rowWriter writes rows in one form, as they come.
type rowWriter interface {
	row(*Row) error
	end() error
}

// writeRows hands each row to all writers: making it is dearer than writing it.
func writeRows(rows iter.Seq2[Row, error], to ...rowWriter) error {
	for row, err := range rows {
		for _, w := range to {
			if err == nil {
				err = w.row(&row)
			}
		}
		if err != nil {
			return err
		}
	}
	for _, w := range to {
		if err := w.end(); err != nil {
			return err
		}
	}
	return nil
}

// WriteBoth writes what WriteCSV and WriteJSON do, and makes each row once.
func WriteBoth(csv, json io.Writer, head Head, rows iter.Seq2[Row, error]) error {
	document, err := newJSON(json, head)
	if err != nil {
		return err
	}
	return writeRows(rows, newCSV(csv, head), document)
}
