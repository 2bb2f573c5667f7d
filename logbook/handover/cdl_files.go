package handover

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/colorlog"
)

// corrections makes all collections of the rows.
type corrections struct {
	head  colorlog.Head
	pack  func(name string) (*packed, error)
	ids   *names
	of    map[collection]*cdlFile
	files []*cdlFile
	rows  int
	clips int
	// without counts by reason the clips that no collection to intent holds.
	without map[string]int
}

// A cdlFile is a collection on its way.
type cdlFile struct {
	*packed
	collection
	entries int
}

func (l *Log) newCorrections(pack func(name string) (*packed, error)) *corrections {
	return &corrections{head: l.Head, pack: pack, ids: l.names(), of: map[collection]*cdlFile{}, without: map[string]int{}}
}

func (c *corrections) End() error {
	for _, f := range c.files {
		if err := f.end(f); err != nil {
			return err
		}
	}
	slices.SortFunc(c.files, func(a, b *cdlFile) int { return cmp.Compare(a.name, b.name) })
	return nil
}

func (c *corrections) Row(row *colorlog.Row) error {
	if c.rows++; row.Find.Row != 1 {
		return nil
	}
	c.clips++
	id := c.ids.of(row)
	for _, to := range []*cameras.Correction{row.Correction.ToIntent, row.Correction.ToNeutral} {
		if to == nil {
			continue
		}
		e, why := entryOf(row, to)
		if why != "" {
			if to.To == "intent" {
				c.without[why]++
			}
			continue
		}
		e.id = id
		f := c.of[e.in]
		if f == nil {
			p, err := c.pack(c.free(e.in.file()))
			if err != nil {
				return err
			}
			f = &cdlFile{packed: p, collection: e.in}
			if c.of[e.in] = f; f.begin(f, c.head) != nil {
				return io.ErrShortWrite
			}
			c.files = append(c.files, f)
		}
		if f.entries++; e.write(f) != nil {
			return io.ErrShortWrite
		}
	}
	if row.Correction.ToIntent == nil {
		c.without[cmp.Or(row.Correction.Problem, "there is no correction")]++
	}
	return nil
}

// free is a name that no other file has.
func (c *corrections) free(name string) string {
	for wanted, again := name, 2; ; again++ {
		if !slices.ContainsFunc(c.files, func(f *cdlFile) bool { return f.name == wanted }) {
			return wanted
		}
		wanted = fmt.Sprintf("%s-%d.ccc", name[:len(name)-len(".ccc")], again)
	}
}
