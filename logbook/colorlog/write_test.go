package colorlog

import (
	"io"
	"iter"
)

func WriteCSV(w io.Writer, head Head, rows iter.Seq2[Row, error]) error {
	return WriteRows(rows, NewCSV(w, head))
}

func WriteJSON(w io.Writer, head Head, rows iter.Seq2[Row, error]) error {
	document, err := NewJSON(w, head)
	if err != nil {
		return err
	}
	return WriteRows(rows, document)
}
