package colorlog

import (
	"bufio"
	"encoding/json"
	"io"
)

type jsonWriter struct {
	out   *bufio.Writer
	count int
}

// NewJSON writes the document row by row, one row a line. The number of rows
// stands last: a document without it was cut off.
func NewJSON(w io.Writer, head Head) (RowWriter, error) {
	begin, err := marshal(head)
	if err != nil {
		return nil, err
	}
	j := &jsonWriter{out: bufio.NewWriterSize(w, 32<<10)}
	j.out.Write(begin[:len(begin)-1])
	j.out.WriteString(`,"rows":[`)
	return j, nil
}

func (j *jsonWriter) Row(row *Row) error {
	line, err := marshal(row)
	if err != nil {
		return err
	}
	if j.count > 0 {
		j.out.WriteByte(',')
	}
	j.out.WriteByte('\n')
	j.count++
	_, err = j.out.Write(line)
	return err
}

func (j *jsonWriter) End() error {
	count, err := marshal(j.count)
	if err != nil {
		return err
	}
	j.out.WriteString("\n],\"count\":")
	j.out.Write(count)
	j.out.WriteString("}\n")
	return j.out.Flush()
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
