package handover

import (
	"compress/gzip"
	"io"
	"iter"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
)

// A Log is the colour log of a scope, as it is in a book.
type Log struct {
	from  logbook.Lender
	scope colorlog.Scope
	Head  colorlog.Head
	// Spool makes what holds the files of an archive whose turn has not come: a tenth of a log, packed. Nil: memory.
	Spool func() Spool
}

// Of is the colour log of a scope. Errors wrap colorlog.ErrScope.
func Of(from logbook.Lender, scope colorlog.Scope, origin colorlog.Origin) (l *Log, err error) {
	l = &Log{from: from, scope: scope}
	from.Read(func(b *logbook.Book) {
		l.Head = colorlog.HeadOf(b, scope, origin)
		_, err = colorlog.SetUps(b, scope)
	})
	return l, err
}

// Rows are its rows, made while they are taken.
func (l *Log) Rows() iter.Seq2[colorlog.Row, error] { return colorlog.Rows(l.from, l.scope) }

// A Form is one of the forms of a colour log.
type Form struct {
	Name  string // as the command line has it
	File  string // the name of the file
	Media string
	About string                                            // in a few words
	rows  func(io.Writer, *Log) (colorlog.RowWriter, error) // what makes it of rows; nil where it takes more than one walk, or none
	write func(io.Writer, *Log) error                       // where rows is nil
}

// Write makes a form.
func (f Form) Write(w io.Writer, l *Log) error {
	if f.rows == nil {
		return f.write(w, l)
	}
	to, err := f.rows(w, l)
	if err != nil {
		return err
	}
	return colorlog.WriteRows(l.Rows(), to)
}

// alone reports whether a form is a file of the archive: not what packs others.
func (f Form) alone() bool { return f.Name != "zip" && f.Name != "json.gz" }

// Forms are all of them.
func Forms() []Form {
	return []Form{
		{"csv", colorlog.CSVName, "text/csv; charset=utf-8; header=present", "a table for programs", newCSV, nil},
		{"csvw", colorlog.CSVName + "-metadata.json", "application/csvm+json", "what describes the columns of that table", nil, writeCSVW},
		{"json", "color-log.json", "application/json", "all that is known, for programs", newJSON, nil},
		{"json.gz", "color-log.json.gz", "application/gzip", "the same, packed", newPackedJSON, nil},
		{"xlsx", "color-log.xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "a workbook for people", newXLSX, nil},
		{"html", "color-log.html", "text/html; charset=utf-8", "one page for people and paper", nil, writeHTML},
		{"zip", "color-log.zip", "application/zip", "all of these, ASC CDL collections, and digests", nil, writeZIP},
	}
}

// FormOf finds a form by its name.
func FormOf(name string) (Form, bool) {
	for _, f := range Forms() {
		if f.Name == name {
			return f, true
		}
	}
	return Form{}, false
}

func newCSV(w io.Writer, l *Log) (colorlog.RowWriter, error) { return colorlog.NewCSV(w, l.Head), nil }

func newJSON(w io.Writer, l *Log) (colorlog.RowWriter, error) { return colorlog.NewJSON(w, l.top()) }

// top is the head with how right the log was, worked out once for all forms.
func (l *Log) top() colorlog.Head {
	if l.Head.HowRight == nil {
		l.Head.HowRight = colorlog.HowRight(l.from, l.scope, logbook.Ever)
	}
	return l.Head
}

// packedJSON has no time in its file, so that the same log gives the same bytes.
type packedJSON struct {
	colorlog.RowWriter
	packed *gzip.Writer
}

func newPackedJSON(w io.Writer, l *Log) (colorlog.RowWriter, error) {
	packed := gzip.NewWriter(w)
	plain, err := newJSON(packed, l)
	return packedJSON{plain, packed}, err
}

func (p packedJSON) End() error {
	if err := p.RowWriter.End(); err != nil {
		return err
	}
	return p.packed.Close()
}

func writeCSVW(w io.Writer, l *Log) error {
	limits, err := l.limits()
	if err != nil {
		return err
	}
	return colorlog.WriteCSVW(w, l.top(), limits)
}

func (l *Log) limits() (limits []colorlog.SharedLimits, err error) {
	l.from.Read(func(b *logbook.Book) { limits, err = colorlog.LimitsOf(b, l.scope) })
	return limits, err
}
