package colorlog

import (
	"io"
	"iter"
)

// A RowWriter writes rows in one form, as they come.
type RowWriter interface {
	Row(*Row) error
	End() error
}

// WriteRows hands each row to all writers: making it is dearer than writing it.
func WriteRows(rows iter.Seq2[Row, error], to ...RowWriter) error {
	for row, err := range rows {
		for _, w := range to {
			if err == nil {
				err = w.Row(&row)
			}
		}
		if err != nil {
			return err
		}
	}
	for _, w := range to {
		if err := w.End(); err != nil {
			return err
		}
	}
	return nil
}

// WriteBoth writes a table and a document, and makes each row once.
func WriteBoth(csv, json io.Writer, head Head, rows iter.Seq2[Row, error]) error {
	document, err := NewJSON(json, head)
	if err != nil {
		return err
	}
	return WriteRows(rows, NewCSV(csv, head), document)
}
