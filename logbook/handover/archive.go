package handover

import (
	"archive/zip"
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"maps"
	"slices"
	"strings"

	"evenwhite/logbook/colorlog"
)

// writeZIP writes an archive of all forms, with what was left out and why, and the digests of its
// files. Rows are made in two walks: the first makes the table as it leaves, while document, workbook and
// collections wait packed in spools; the page, whose cover counts what the first found, takes the second.
func writeZIP(w io.Writer, l *Log) error {
	a := &archive{zip: zip.NewWriter(w), spool: func() Spool { return &memory{} }}
	if l.Spool != nil {
		a.spool = l.Spool
	}
	defer a.close()
	c, page := l.newCorrections(a.pack), l.newCover()
	to, waiting := []colorlog.RowWriter{c, page}, map[string]*packed{}
	for _, f := range Forms()[1:] {
		if !f.alone() || f.rows == nil {
			continue
		}
		p, err := a.pack(f.File)
		if err != nil {
			return err
		}
		rows, err := f.rows(p, l)
		if err != nil {
			return err
		}
		to, waiting[f.Name] = append(to, rows), p
	}
	for i, f := range Forms() {
		var err error
		switch {
		case !f.alone():
		case i == 0:
			err = a.add(f.File, func(w io.Writer) error {
				rows, err := f.rows(w, l)
				if err != nil {
					return err
				}
				return colorlog.WriteRows(l.Rows(), append(to, rows)...)
			})
		case waiting[f.Name] != nil:
			err = waiting[f.Name].putInto(a)
		case f.Name == "html":
			err = a.add(f.File, func(w io.Writer) error {
				if err := report.ExecuteTemplate(w, "head", page); err != nil {
					return err
				}
				return page.writePage(w, l)
			})
		default:
			err = a.add(f.File, func(w io.Writer) error { return f.write(w, l) })
		}
		if err != nil {
			return err
		}
	}
	if err := a.add("color-log.schema.json", func(w io.Writer) error { _, err := w.Write(colorlog.SchemaText); return err }); err != nil {
		return err
	}
	for _, f := range c.files {
		if err := f.putInto(a); err != nil {
			return err
		}
	}
	if err := a.add("CONTENTS.txt", func(w io.Writer) error { _, err := io.WriteString(w, l.contents(c)); return err }); err != nil {
		return err
	}
	sums := a.sums.String()
	if err := a.add("SHA256SUMS", func(w io.Writer) error { _, err := io.WriteString(w, sums); return err }); err != nil {
		return err
	}
	return a.zip.Close()
}

// archive is a zip file with the digests of what is in it. Its entries have no time, so that the same
// log gives the same bytes.
type archive struct {
	zip     *zip.Writer
	sums    strings.Builder // as sha256sum -c reads them
	spool   func() Spool
	waiting []Spool
}

// close lets go of what waited, whether or not it came into the archive.
func (a *archive) close() {
	for _, s := range a.waiting {
		_ = s.Close() // all of it was read, or nobody wants it
	}
}

func (a *archive) add(name string, write func(io.Writer) error) error {
	part, err := a.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
	if err != nil {
		return err
	}
	digest := sha256.New()
	if err := write(io.MultiWriter(part, digest)); err != nil {
		return err
	}
	a.sum(name, digest)
	return nil
}

func (a *archive) sum(name string, digest hash.Hash) {
	fmt.Fprintf(&a.sums, "%x  %s\n", digest.Sum(nil), name)
}

// contents says what is in the archive, and what is not.
func (l *Log) contents(c *corrections) string {
	var out strings.Builder
	h := l.Head
	fmt.Fprintf(&out, "Colour log of %s\nstate: %s\nin words: %s\nmade of: %s\nmade by: %s\n\n%s of %s.\n\n",
		h.Production.Title, h.State.Digest, h.State.Words, many(h.State.Edits, "entry", "entries"), h.Program,
		many(c.rows, "row", "rows"), many(c.clips, "clip", "clips"))
	for _, f := range Forms() {
		if f.alone() {
			fmt.Fprintf(&out, "%s: %s\n", f.File, f.About)
		}
	}
	for _, f := range c.files {
		fmt.Fprintf(&out, "%s: %s to %s for %s and no other encoding (ASC CDL)\n", f.name,
			many(f.entries, "correction", "corrections"), f.to, f.encoding)
	}
	if len(c.without) > 0 {
		out.WriteString("\nClips without a correction to intent as CDL, and why:\n")
		for _, why := range slices.Sorted(maps.Keys(c.without)) {
			fmt.Fprintf(&out, "%6d  %s\n", c.without[why], why)
		}
	}
	out.WriteString("\nCheck that the files are whole: sha256sum -c SHA256SUMS\n")
	out.WriteString("\nThe whole name of the state, from which all of this can be made again (evenwhite export --state):\n")
	out.WriteString(h.State.Name + "\n")
	return out.String()
}
