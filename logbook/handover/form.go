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
	About string // in a few words
	Write func(io.Writer, *Log) error
}

// alone reports whether a form is a file of the archive: not what packs others.
func (f Form) alone() bool { return f.Name != "zip" && f.Name != "json.gz" }

// Forms are all of them.
func Forms() []Form {
	return []Form{
		{"csv", colorlog.CSVName, "text/csv; charset=utf-8; header=present", "a table for programs", writeCSV},
		{"csvw", colorlog.CSVName + "-metadata.json", "application/csvm+json", "what describes the columns of that table", writeCSVW},
		{"json", "color-log.json", "application/json", "all that is known, for programs", writeJSON},
		{"json.gz", "color-log.json.gz", "application/gzip", "the same, packed", writePackedJSON},
		{"xlsx", "color-log.xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "a workbook for people", writeXLSX},
		{"html", "color-log.html", "text/html; charset=utf-8", "one page for people and paper", writeHTML},
		{"zip", "color-log.zip", "application/zip", "all of these, ASC CDL collections, and digests", writeZIP},
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

func writeCSV(w io.Writer, l *Log) error { return colorlog.WriteCSV(w, l.Head, l.Rows()) }

func writeJSON(w io.Writer, l *Log) error { return colorlog.WriteJSON(w, l.top(), l.Rows()) }

// top is the head with how right the log was, worked out once for all forms.
func (l *Log) top() colorlog.Head {
	if l.Head.HowRight == nil {
		l.Head.HowRight = colorlog.HowRight(l.from, l.scope, logbook.Ever)
	}
	return l.Head
}

// writePackedJSON writes no time into the file, so that the same log gives the same bytes.
func writePackedJSON(w io.Writer, l *Log) error {
	packed := gzip.NewWriter(w)
	if err := writeJSON(packed, l); err != nil {
		return err
	}
	return packed.Close()
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
