package logbook

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// A bundle is any set of edits of one production as a file, for carrying them
// from device to device with no network:
//
//	the line "evenwhite bundle 1" and a line feed
//	16      the production
//	per edit: uvarint length, canonical bytes, 8 bytes of the chain up to it
//	uvarint 0, uvarint number of edits, 8 bytes of the chain
//
// The chain (store.go) begins at zero, so that damage is noticed at the edit
// where it lies and everything before it can be taken in.
const bundleHead = "evenwhite bundle 1\n"

// ErrDamaged is wrapped by errors about a bundle or file that was changed or cut
// off on its way.
var ErrDamaged = errors.New("the file is damaged")

// WriteBundle writes edits of one production.
func WriteBundle(to io.Writer, production ID, edits []*Edit) error {
	w := bufio.NewWriter(to)
	w.WriteString(bundleHead)
	w.Write(production[:])
	var chain Chain
	for _, e := range edits {
		if e.Production != production {
			return fmt.Errorf("%w: edit %s is of production %s, not %s", ErrRequest, e.Dot, e.Production, production)
		}
		b, err := EncodeEdit(e)
		if err != nil {
			return err
		}
		chain = chain.Next(HashOf(b))
		w.Write(binary.AppendUvarint(nil, uint64(len(b))))
		w.Write(b)
		w.Write(chain[:])
	}
	w.Write(binary.AppendUvarint([]byte{0}, uint64(len(edits))))
	w.Write(chain[:])
	return w.Flush()
}

// ReadBundle hands each edit of a bundle to take, in order, and stops at the
// first that take refuses. A bundle of another production is refused at once
// with ErrRequest; a damaged one with ErrDamaged at the damaged place, after
// everything before it was handed over.
func ReadBundle(from io.Reader, production ID, take func(*Edit) error) error {
	r := bufio.NewReader(from)
	head := make([]byte, len(bundleHead)+16)
	if _, err := io.ReadFull(r, head); err != nil || string(head[:len(bundleHead)]) != bundleHead {
		return fmt.Errorf("%w: it does not begin as a bundle does", ErrDamaged)
	}
	if id := ID(head[len(bundleHead):]); id != production {
		return fmt.Errorf("%w: the bundle is of production %s; this is %s", ErrRequest, id, production)
	}
	var chain Chain
	for n := uint64(0); ; n++ {
		size, err := binary.ReadUvarint(r)
		if err != nil || size > MaxEdit {
			return damagedAt(n)
		}
		if size == 0 {
			return bundleEnd(r, n, chain)
		}
		b := make([]byte, size+8)
		if _, err := io.ReadFull(r, b); err != nil {
			return damagedAt(n)
		}
		chain = chain.Next(HashOf(b[:size]))
		if Chain(b[size:]) != chain {
			return damagedAt(n)
		}
		e, err := DecodeEdit(b[:size])
		if err != nil {
			return fmt.Errorf("%w: edit %d: %v", ErrDamaged, n+1, err)
		}
		if e.Production != production {
			return fmt.Errorf("%w: edit %d is of production %s; this is %s", ErrRequest, n+1, e.Production, production)
		}
		if err := take(e); err != nil {
			return err
		}
	}
}

func damagedAt(n uint64) error {
	return fmt.Errorf("%w at edit %d; the %d before it are whole", ErrDamaged, n+1, n)
}

func bundleEnd(r *bufio.Reader, n uint64, chain Chain) error {
	count, err := binary.ReadUvarint(r)
	if err != nil || count != n {
		return fmt.Errorf("%w: it counts %d edits and holds %d", ErrDamaged, count, n)
	}
	var end Chain
	if _, err := io.ReadFull(r, end[:]); err != nil || end != chain {
		return fmt.Errorf("%w at its end; the %d edits before it are whole", ErrDamaged, n)
	}
	if _, err := r.ReadByte(); err != io.EOF {
		return fmt.Errorf("%w: something stands after its end; the %d edits before it are whole", ErrDamaged, n)
	}
	return nil
}
