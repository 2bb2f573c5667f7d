package colorlog

import (
	"bufio"
	"encoding/json"
	"io"
	"iter"
)

// WriteJSON writes the document row by row, one row a line. The number of rows
// stands last: a document without it was cut off.
func WriteJSON(w io.Writer, head Head, rows iter.Seq2[Row, error]) error {
	out := bufio.NewWriterSize(w, 32<<10)
	begin, err := marshal(head)
	if err != nil {
		return err
	}
	out.Write(begin[:len(begin)-1])
	out.WriteString(`,"rows":[`)
	count := 0
	for row, err := range rows {
		if err != nil {
			return err
		}
		line, err := marshal(row)
		if err != nil {
			return err
		}
		if count > 0 {
			out.WriteByte(',')
		}
		out.WriteByte('\n')
		if _, err := out.Write(line); err != nil {
			return err
		}
		count++
	}
	end, err := marshal(count)
	if err != nil {
		return err
	}
	out.WriteString("\n],\"count\":")
	out.Write(end)
	out.WriteString("}\n")
	return out.Flush()
}

// marshal leaves <, > and & as they are: the document is read by people too.
func marshal(v any) ([]byte, error) {
	var b lineBuffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return b[:len(b)-1], nil // without the encoder's newline
}

type lineBuffer []byte

func (b *lineBuffer) Write(p []byte) (int, error) {
	*b = append(*b, p...)
	return len(p), nil
}
