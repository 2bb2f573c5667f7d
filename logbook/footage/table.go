package footage

import (
	"bufio"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Columns names the columns of a table, as its first line has them. What is empty is not there.
type Columns struct {
	Name   string // of the clip or file, with its folders or without
	Folder string
	Time   string
	Size   string // in bytes
	Hash   string
	Kelvin string
	Tint   string
	Lens   string
}

// Settings are what a file says of the camera, as it was typed or written there.
type Settings struct {
	Kelvin string `json:"kelvin,omitempty"`
	Tint   string `json:"tint,omitempty"`
	Lens   string `json:"lens,omitempty"`
}

func (c *Collection) readTable(in *bufio.Reader, form Form) error {
	if form.Columns.Name == "" {
		return &ListingError{1, "", "a table of which the column with the names is named"}
	}
	t := &tableReader{Collection: c, in: csv.NewReader(&longLines{r: in})}
	t.in.Comma = separatorOf(in)
	t.in.ReuseRecord = true
	header, err := t.in.Read()
	if err != nil {
		return t.wrong(err)
	}
	header = slices.Clone(header)
	header[0] = strings.TrimPrefix(header[0], "\ufeff")
	for _, column := range []struct {
		to   *int
		name string
	}{
		{&t.name, form.Columns.Name}, {&t.folder, form.Columns.Folder}, {&t.time, form.Columns.Time}, {&t.size, form.Columns.Size},
		{&t.hash, form.Columns.Hash}, {&t.kelvin, form.Columns.Kelvin}, {&t.tint, form.Columns.Tint}, {&t.lens, form.Columns.Lens},
	} {
		*column.to = slices.IndexFunc(header, func(h string) bool {
			return strings.EqualFold(strings.TrimSpace(h), strings.TrimSpace(column.name))
		})
		if column.name == "" {
			*column.to = -1
		} else if *column.to < 0 {
			return &ListingError{1, column.name, "a column of the table: " + Shown(strings.Join(header, ", "))}
		}
	}
	for {
		cells, err := t.in.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return t.wrong(err)
		}
		if err := t.take(cells); err != nil {
			return err
		}
	}
}

type tableReader struct {
	*Collection
	in                                                 *csv.Reader
	name, folder, time, size, hash, kelvin, tint, lens int
}

// separatorOf is the sign between cells: the one that stands most often in the first line.
func separatorOf(in *bufio.Reader) rune {
	head, _ := in.Peek(4096)
	first, _, _ := strings.Cut(string(head), "\n")
	best := ','
	for _, sign := range ";\t" {
		if strings.Count(first, string(sign)) > strings.Count(first, string(best)) {
			best = sign
		}
	}
	return best
}

func (t *tableReader) wrong(err error) error {
	var at *csv.ParseError
	if errors.As(err, &at) {
		return &ListingError{at.Line, at.Err.Error(), "CSV (RFC 4180): as many cells in each line, quotes doubled within quotes"}
	}
	if errors.Is(err, io.EOF) {
		return &ListingError{1, "", "a first line with the names of the columns"}
	}
	return err
}

func (t *tableReader) take(cells []string) error {
	cell := func(at int) string {
		if at < 0 {
			return ""
		}
		return strings.TrimSpace(cells[at])
	}
	line, _ := t.in.FieldPos(0)
	e := entry{path: strings.ReplaceAll(cell(t.name), `\`, "/"), size: -1, hash: cell(t.hash), line: line,
		said: Settings{cell(t.kelvin), cell(t.tint), cell(t.lens)}}
	if folder := strings.ReplaceAll(cell(t.folder), `\`, "/"); folder != "" {
		e.path = strings.TrimSuffix(folder, "/") + "/" + e.path
	}
	if strings.Trim(e.path, "/. ") == "" {
		return &ListingError{line, cell(t.name), "the name of a file in each line"}
	}
	if text := cell(t.size); text != "" {
		size, err := strconv.ParseInt(text, 10, 64)
		if err != nil || size < 0 {
			return &ListingError{line, text, "a size in bytes: a whole number"}
		}
		e.size = size
	}
	if text := cell(t.time); text != "" {
		var ok bool
		if e.at, ok = momentOf(text); !ok {
			return &ListingError{line, text, isoAllowed}
		}
	}
	for _, v := range []struct {
		text        *string
		least, most float64
		allowed     string
	}{{&e.said.Kelvin, 1000, 25000, "kelvin: a number from 1000 to 25000"}, {&e.said.Tint, -200, 200, "tint: a number from -200 to 200"}} {
		if *v.text == "" {
			continue
		}
		n, err := number(*v.text)
		if err != nil || !(n >= v.least && n <= v.most) {
			return &ListingError{line, *v.text, v.allowed}
		}
		*v.text = strconv.FormatFloat(n, 'f', -1, 64)
	}
	if lens := e.said.Lens; utf8.RuneCountInString(lens) > 80 || strings.ContainsFunc(lens, risky) {
		return &ListingError{line, lens, "lens: at most 80 characters that are seen as themselves"}
	}
	return t.add(e)
}

// number reads a number as tables have them: 4300, 4300K, 4300 K, +2.5.
func number(text string) (float64, error) {
	text = strings.TrimSpace(strings.TrimRight(strings.TrimSpace(text), "Kk"))
	return strconv.ParseFloat(text, 64)
}

// longLines ends a table that has a line without end.
type longLines struct {
	r    *bufio.Reader
	line int
	n    int
}

func (l *longLines) Read(p []byte) (int, error) {
	n, err := l.r.Read(p)
	for i, b := range p[:n] {
		if b == 0 {
			return i, &ListingError{l.line + 1, "a zero byte", "CSV in UTF-8"}
		}
		if l.n++; b == '\n' {
			l.line, l.n = l.line+1, 0
		} else if l.n > mostLine {
			return i, &ListingError{l.line + 1, string(p[max(0, i-60):i]), "a line of at most " + strconv.Itoa(mostLine) + " bytes"}
		}
	}
	return n, err
}
