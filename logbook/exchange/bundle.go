package exchange

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"evenwhite/logbook"
)

// A bundle is any set of edits of one production as a file, for carrying them
// from device to device with no network:
//
//	the line "evenwhite bundle 1" and a line feed
//	16      the production
//	per edit: uvarint length, canonical bytes, 8 bytes of the chain up to it
//	uvarint 0, uvarint number of edits, 8 bytes of the chain
//
// The chain (logbook.Chain) begins at zero, so that damage is noticed at the edit
// where it lies and everything before it can be taken in.
const bundleHead = "evenwhite bundle 1\n"

// A bundleWriter writes a bundle edit by edit. Errors of the writer below it stay
// and are returned at the end.
type bundleWriter struct {
	w     *bufio.Writer
	chain logbook.Chain
	n     uint64
}

// A BundleEnd is how a bundle ends: the number of its edits, and the chain over them.
type BundleEnd struct {
	Edits int
	Chain logbook.Chain
}

func beginBundle(to io.Writer, production logbook.ID) *bundleWriter {
	b := &bundleWriter{w: bufio.NewWriter(to)}
	b.w.WriteString(bundleHead)
	b.w.Write(production[:])
	return b
}

func (b *bundleWriter) add(edit []byte, hash logbook.Hash) error {
	b.n++
	b.chain = b.chain.Next(hash)
	b.w.Write(binary.AppendUvarint(nil, uint64(len(edit))))
	b.w.Write(edit)
	_, err := b.w.Write(b.chain[:])
	return err
}

func (b *bundleWriter) end() (BundleEnd, error) {
	b.w.Write(binary.AppendUvarint([]byte{0}, b.n))
	b.w.Write(b.chain[:])
	return BundleEnd{int(b.n), b.chain}, b.w.Flush()
}

// WriteBundle writes edits of one production.
func WriteBundle(to io.Writer, production logbook.ID, edits []*logbook.Edit) error {
	w := beginBundle(to, production)
	for _, e := range edits {
		if e.Production != production {
			return fmt.Errorf("%w: edit %s is of production %s, not %s", logbook.ErrRequest, e.Dot, e.Production, production)
		}
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			return err
		}
		if err := w.add(b, logbook.HashOf(b)); err != nil {
			return err
		}
	}
	_, err := w.end()
	return err
}

// WriteBundleOf writes edits of one production that were read from a store, and returns how many.
// each hands them on until it is done, or until what it calls fails.
func WriteBundleOf(to io.Writer, production logbook.ID, each func(func(logbook.Entry) error) error) (int, error) {
	w := beginBundle(to, production)
	if err := each(func(e logbook.Entry) error { return w.add(e.Bytes, e.Hash) }); err != nil {
		return 0, err
	}
	end, err := w.end()
	return end.Edits, err
}

// BundleProduction reads of which production a bundle is and leaves it unread.
func BundleProduction(from *bufio.Reader) (logbook.ID, error) {
	head, err := from.Peek(len(bundleHead) + len(logbook.ID{}))
	if err != nil && err != io.EOF {
		return logbook.ID{}, err
	}
	if err == io.EOF || string(head[:len(bundleHead)]) != bundleHead {
		return logbook.ID{}, fmt.Errorf("%w: it does not begin as a bundle does", logbook.ErrDamaged)
	}
	return logbook.ID(head[len(bundleHead):]), nil
}

// ReadBundle hands each edit of a bundle to take, in order, and stops at the
// first that take refuses. A bundle of another production is refused at once
// with ErrRequest; a damaged one with ErrDamaged at the damaged place, after
// everything before it was handed over.
func ReadBundle(from io.Reader, production logbook.ID, take func(*logbook.Edit) error) error {
	_, err := readBundle(from, production, take)
	return err
}

// SameBundle reads a bundle and returns nil where it is whole, can be read, and ends as the
// one that was written; else an error that wraps ErrDamaged.
func SameBundle(from io.Reader, production logbook.ID, written BundleEnd) error {
	end, err := readBundle(from, production, func(*logbook.Edit) error { return nil })
	if err == nil && end != written {
		err = fmt.Errorf("%w: its %d edits are not the %d that were written", logbook.ErrDamaged, end.Edits, written.Edits)
	}
	return err
}

func readBundle(from io.Reader, production logbook.ID, take func(*logbook.Edit) error) (end BundleEnd, err error) {
	r := bufio.NewReader(from)
	id, err := BundleProduction(r)
	if err != nil {
		return end, err
	}
	if id != production {
		return end, fmt.Errorf("%w: the bundle is of production %s; this is %s", logbook.ErrRequest, id, production)
	}
	if _, err := r.Discard(len(bundleHead) + len(id)); err != nil {
		return end, err
	}
	for n := uint64(0); ; n++ {
		size, err := binary.ReadUvarint(r)
		if err != nil || size > logbook.MaxEdit {
			return end, damagedAt(n, err)
		}
		if size == 0 {
			return end, bundleEnd(r, n, end.Chain)
		}
		b := make([]byte, size+8)
		if _, err := io.ReadFull(r, b); err != nil {
			return end, damagedAt(n, err)
		}
		end.Chain = end.Chain.Next(logbook.HashOf(b[:size]))
		if logbook.Chain(b[size:]) != end.Chain {
			return end, damagedAt(n, nil)
		}
		e, err := logbook.DecodeEdit(b[:size])
		if err != nil {
			return end, fmt.Errorf("%w: edit %d: %v", logbook.ErrDamaged, n+1, err)
		}
		if e.Production != production {
			return end, fmt.Errorf("%w: edit %d is of production %s; this is %s", logbook.ErrRequest, n+1, e.Production, production)
		}
		if err := take(e); err != nil {
			return end, err
		}
		end.Edits++
	}
}

// FirstEdit reads a bundle up to its first edit and returns it from its beginning; io.EOF
// where it is whole and has none. Errors are those of ReadBundle.
func FirstEdit(from io.Reader, production logbook.ID) (io.Reader, error) {
	var read bytes.Buffer
	first := errors.New("the first edit")
	err := ReadBundle(io.TeeReader(from, &read), production, func(*logbook.Edit) error { return first })
	if err == first {
		return io.MultiReader(&read, from), nil
	}
	if err == nil {
		err = io.EOF
	}
	return nil, err
}

// damagedAt says where a bundle is damaged, or could not be read further.
func damagedAt(n uint64, err error) error {
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return fmt.Errorf("it could not be read beyond edit %d: %w", n, err)
	}
	return fmt.Errorf("%w at edit %d; the %d before it are whole", logbook.ErrDamaged, n+1, n)
}

func bundleEnd(r *bufio.Reader, n uint64, chain logbook.Chain) error {
	count, err := binary.ReadUvarint(r)
	if err != nil || count != n {
		return fmt.Errorf("%w: it counts %d edits and holds %d", logbook.ErrDamaged, count, n)
	}
	var end logbook.Chain
	if _, err := io.ReadFull(r, end[:]); err != nil || end != chain {
		return fmt.Errorf("%w at its end; the %d edits before it are whole", logbook.ErrDamaged, n)
	}
	if _, err := r.ReadByte(); err != io.EOF {
		return fmt.Errorf("%w: something stands after its end; the %d edits before it are whole", logbook.ErrDamaged, n)
	}
	return nil
}
