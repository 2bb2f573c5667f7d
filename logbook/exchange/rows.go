package exchange

import (
	_ "embed"
	"errors"
	"fmt"
)

// RowsInWords is the rows form of an exchange in words, for whoever reads or writes it: the
// form that devices speak. Where it does not say how a thing is done, nothing says it.
//
//go:embed rows.md
var RowsInWords []byte

const (
	rowsForm = 1
	// mostRowEdits and mostRowBytes bound what the rows of one exchange may unfold to:
	// an answer's edits have at most 1 MiB and one edit more, and each of them has over
	// 70 canonical bytes.
	mostRowEdits = 1 << 14
	mostRowBytes = 2 << 20
)

// Errors of reading rows.
var (
	// ErrRows is wrapped by errors about text that is not in the rows form, or that
	// was cut off or changed on its way.
	ErrRows = errors.New("the rows cannot be read")
	// ErrRecords says that a record was left out and cannot be filled in here: send
	// the same with every record written.
	ErrRecords = errors.New("the rows leave out a record that is not known here: send them with every record written")
)

// fieldOver is a field as rows define it: its name and how many dots it is over.
type fieldOver struct {
	name string
	over int
}

// rowError is an error about one row, counted from 1.
func rowError(row int, format string, args ...any) error {
	return fmt.Errorf("%w: row %d: %s", ErrRows, row, fmt.Sprintf(format, args...))
}
