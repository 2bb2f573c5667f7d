package exchange

import (
	"errors"
	"fmt"
)

// The rows form of an exchange, for devices: JSON lists, one a line, each line
// ended by a line feed. What is said often is said once and then goes by its
// number: the first line, device, person, field or record that is defined is 0 of
// its own count. In the rows of edits
//
//	["tables"]                      forgets all numbers: what follows stands by itself
//	["line",LINE]                   defines a line
//	["device",ID] ["person",NAME]   define a device, a person
//	["field",NAME,k]                defines a field that is set over k dots
//	["in",line,n,device,person,offset]
//	                                what the next edits are: the nth of the line and
//	                                those that run on. Later ["in",line,n] or ["in",line]
//	                                leave the rest of that line as it last was
//	["act",line,n] ["act"]          the act of the next edits; none
//	["of",ID,KIND] ["of",record]    defines the record of the next edit; names it again
//	["also",NAME,value]             a member of a newer version in the next edit
//	[at,field,value,line,n,…]       an edit: the time since the last edit of its line in
//	                                ms; then, field by field in rising order of names,
//	                                the field, its value and the k dots that it is over
//	["check",HASH]                  ends a stretch of edits: the chain (logbook.Chain)
//	                                over those since the last check, in base64url
//
// An edit with no "of" before it is of the record of the edit that its first dot
// names: one that stands above, or one that the receiver surely holds. Where it
// does not hold that edit, or the check shows that it holds another, the receiver
// says ErrRecords and is sent the same again with every record written.
//
// A request is ["rows",1], then any of ["run",LINE], ["cursor",CURSOR],
// ["limit",bytes], ["whole"] (every record is to be written) and, of each line
// held, ["have",LINE,from,to,…]; the edits; ["end",number of edits].
//
// An answer is ["rows",1], ["run",LINE], ["log",LINE], ["now",ms], ["reset"] where
// it is one, ["list"] where a list follows with ["list",LINE,from,to,…] of each line,
// what became of the edits as [OUTCOME,LINE,from,to] or with a reason behind, in the
// order of the request; the edits; to whom asks for it, of each of them that is refused
// there, and so applies to nothing, ["mark",LINE,n,REASON]; ["end",number of edits,CURSOR,more].
//
// Texts and values are JSON in any spelling, numbers of values verbatim; everything
// else is a whole number in digits. Without its last row nothing was said.

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
