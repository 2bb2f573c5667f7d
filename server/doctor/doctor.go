// Package doctor says what keeps a phone from reaching or trusting the server, and what
// threatens the data beside: Look gathers what can be seen on this machine, and Findings
// judges it. It changes nothing.
package doctor

import (
	"crypto/x509"
	"fmt"
	"io"
	"net/netip"
	"strings"
	"time"

	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/lan/name"
)

// A Server is what a running one says of itself.
type Server struct {
	Process      int
	Serves       string     // where, in words
	Origin       lan.Origin // of no name where it serves at one address only
	DeskPort     int
	Tells        bool     // its name by multicast DNS
	Brought      bool     // its certificate comes from elsewhere
	Warnings     []string // but for those of the name
	NameWarnings []string
	Links        []Link
}

// A Link is one with another server, as the running one tells of it.
type Link struct {
	Saw  string // where it leads and how it stands
	Ails string // what keeps it, or ""
}

// A Moment is one that has been, as something on this machine says.
type Moment struct {
	What string
	At   time.Time
}

// A Port is a place where the server listens, or would.
type Port struct {
	Address string
	Err     error
}

// Facts are what a look found.
type Facts struct {
	Now    time.Time
	Server *Server    // nil: none runs
	Origin lan.Origin // of no name where there is none

	Links    []lan.Interface
	Own      []netip.Addr // all addresses of this machine
	Seen     *name.Seen   // nil where the name is not told by multicast DNS
	SeenErr  error
	Resolved []netip.Addr // what the system says of a name that others tell
	Ports    []Port

	Authority    *authority.Authority // nil: none yet, or not used
	AuthorityErr error
	Leaf         *x509.Certificate // that is shown; nil: none was
	LeafErr      error

	Past       []Moment
	Free, Need uint64   // bytes of the disk; 0: not known
	Open       []string // files and folders that others may enter or read
	Backup     time.Time
	Changed    time.Time // when the data last changed
}

// A Finding is what one check saw.
type Finding struct {
	About string // a word
	Saw   string
	Phone string // what a phone meets; "" where that is nothing
	Do    string // "" where all is well
}

// Well reports whether there is nothing to do.
func (f Finding) Well() bool { return f.Do == "" }

// Write writes findings, a paragraph each, and returns how many are not well.
func Write(w io.Writer, list []Finding) (trouble int, err error) {
	for _, f := range list {
		mark := "well"
		if !f.Well() {
			mark = "TROUBLE"
			trouble++
		}
		lines := []string{fmt.Sprintf("%-8s %-12s %s", mark, f.About, f.Saw)}
		if f.Phone != "" {
			lines = append(lines, indent+"A phone: "+f.Phone)
		}
		if f.Do != "" {
			lines = append(lines, indent+"To do: "+f.Do)
		}
		if _, err := fmt.Fprintln(w, strings.Join(lines, "\n")); err != nil {
			return trouble, err
		}
	}
	return trouble, nil
}

var indent = strings.Repeat(" ", 22)
