package handover

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"hash"
	"hash/crc32"
	"io"
)

// A Spool holds a file of an archive, packed, until its turn comes.
type Spool interface {
	io.Writer
	io.WriterTo
	io.Closer
}

// memory is a spool where nobody has a better one.
type memory struct{ bytes.Buffer }

func (*memory) Close() error { return nil }

// A packed file is written while others are, and put into an archive when it is whole.
type packed struct {
	name    string
	held    Spool
	out     *bufio.Writer // to it: what packs writes small pieces
	deflate *flate.Writer
	sum     hash.Hash32
	digest  hash.Hash
	size    uint64 // of the file
	small   uint64 // of what it is packed to
}

// pack begins a file that waits.
func (a *archive) pack(name string) (*packed, error) {
	p := &packed{name: name, held: a.spool(), sum: crc32.NewIEEE(), digest: sha256.New()}
	a.waiting = append(a.waiting, p.held)
	p.out = bufio.NewWriterSize(p.held, 32<<10)
	var err error
	p.deflate, err = flate.NewWriter(smaller{p}, flate.DefaultCompression)
	return p, err
}

func (p *packed) Write(b []byte) (int, error) {
	p.sum.Write(b)
	p.digest.Write(b)
	p.size += uint64(len(b))
	return p.deflate.Write(b)
}

// smaller takes a file as it is packed.
type smaller struct{ *packed }

func (s smaller) Write(b []byte) (int, error) {
	s.small += uint64(len(b))
	return s.out.Write(b)
}

func (p *packed) putInto(a *archive) error {
	if err := p.deflate.Close(); err != nil {
		return err
	}
	if err := p.out.Flush(); err != nil {
		return err
	}
	a.sum(p.name, p.digest)
	w, err := a.zip.CreateRaw(&zip.FileHeader{Name: p.name, Method: zip.Deflate, CRC32: p.sum.Sum32(),
		CompressedSize64: p.small, UncompressedSize64: p.size})
	if err != nil {
		return err
	}
	_, err = p.held.WriteTo(w)
	return err
}
