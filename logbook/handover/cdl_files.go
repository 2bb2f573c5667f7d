package handover

import (
	"archive/zip"
	"bytes"
	"cmp"
	"compress/flate"
	"crypto/sha256"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"slices"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/colorlog"
)

// A packed file is written while others are, and put into an archive when it is whole.
type packed struct {
	collection
	name    string
	entries int
	out     bytes.Buffer
	deflate *flate.Writer
	sum     hash.Hash32
	digest  hash.Hash
	size    uint64
}

func pack(c collection, name string) (*packed, error) {
	p := &packed{collection: c, name: name, sum: crc32.NewIEEE(), digest: sha256.New()}
	var err error
	p.deflate, err = flate.NewWriter(&p.out, flate.DefaultCompression)
	return p, err
}

func (p *packed) Write(b []byte) (int, error) {
	p.sum.Write(b)
	p.digest.Write(b)
	p.size += uint64(len(b))
	return p.deflate.Write(b)
}

func (p *packed) putInto(z *zip.Writer) error {
	if err := p.deflate.Close(); err != nil {
		return err
	}
	w, err := z.CreateRaw(&zip.FileHeader{Name: p.name, Method: zip.Deflate, CRC32: p.sum.Sum32(),
		CompressedSize64: uint64(p.out.Len()), UncompressedSize64: p.size})
	if err != nil {
		return err
	}
	_, err = p.out.WriteTo(w)
	return err
}

// corrected is what came of making collections.
type corrected struct {
	files []*packed
	rows  int
	clips int
	// without counts by reason the clips that no collection to intent holds.
	without map[string]int
}

// corrections makes all collections in one walk over the rows.
func (l *Log) corrections() (*corrected, error) {
	c := &corrected{without: map[string]int{}}
	ids, of := l.names(), map[collection]*packed{}
	for row, err := range l.Rows() {
		if err != nil {
			return nil, err
		}
		if c.rows++; row.Find.Row != 1 {
			continue
		}
		c.clips++
		if err := c.add(&row, ids.of(&row), of, l.Head); err != nil {
			return nil, err
		}
	}
	for _, f := range c.files {
		if err := f.end(f); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(c.files, func(a, b *packed) int { return cmp.Compare(a.name, b.name) })
	return c, nil
}

func (c *corrected) add(row *colorlog.Row, id string, of map[collection]*packed, head colorlog.Head) error {
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
		f := of[e.in]
		if f == nil {
			var err error
			if f, err = pack(e.in, c.free(e.in.file())); err != nil {
				return err
			}
			if of[e.in] = f; f.begin(f, head) != nil {
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
func (c *corrected) free(name string) string {
	for wanted, again := name, 2; ; again++ {
		if !slices.ContainsFunc(c.files, func(f *packed) bool { return f.name == wanted }) {
			return wanted
		}
		wanted = fmt.Sprintf("%s-%d.ccc", name[:len(name)-len(".ccc")], again)
	}
}
