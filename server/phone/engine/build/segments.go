package main

import (
	"encoding/binary"
	"errors"
)

// dataSection is the number of the section that holds what lies in memory at the start.
const dataSection = 11

var errModule = errors.New("what go build wrote is no WebAssembly module as Go makes them")

// packed makes a module pack better: what lies in its memory at the start is changed, and
// segments of it that lie close are joined. The linker leaves out zeros and so cuts its tables into tens
// of thousands of segments of two bytes.
func packed(module []byte, change func(memory) error) ([]byte, error) {
	const preamble = 8
	if len(module) < preamble || string(module[:4]) != "\x00asm" {
		return nil, errModule
	}
	out := append([]byte(nil), module[:preamble]...)
	for r := (reader{left: module[preamble:]}); len(r.left) > 0; {
		id := r.byte()
		body := r.bytes(int(r.unsigned()))
		if r.bad {
			return nil, errModule
		}
		if id == dataSection {
			memory, ok := readMemory(body)
			if !ok {
				return nil, errModule
			}
			if err := change(memory); err != nil {
				return nil, err
			}
			body = memory.section()
		}
		out = binary.AppendUvarint(append(out, id), uint64(len(body)))
		out = append(out, body...)
	}
	return out, nil
}

// memory is what lies in memory at the start, from address 0.
type memory []byte

func readMemory(section []byte) (m memory, ok bool) {
	const active, constant, end, most = 0, 0x41, 0x0b, 1 << 28
	r := reader{left: section}
	for range r.unsigned() {
		if r.byte() != active || r.byte() != constant {
			return nil, false
		}
		at := r.signed()
		if r.byte() != end {
			return nil, false
		}
		bytes := r.bytes(int(r.unsigned()))
		if r.bad || at < 0 || at > most {
			return nil, false
		}
		if missing := int(at) + len(bytes) - len(m); missing > 0 {
			m = append(m, make([]byte, missing)...)
		}
		copy(m[at:], bytes)
	}
	return m, !r.bad && len(r.left) == 0
}

// closest is how many zeros in a row are written rather than left out: a new segment takes
// some bytes too, and they pack badly.
const closest = 32

// section writes memory as segments.
func (m memory) section() []byte {
	var body []byte
	count := 0
	for at := 0; at < len(m); {
		if m[at] == 0 {
			at++
			continue
		}
		end := at + 1
		for next := end; next < len(m) && next-end < closest; next++ {
			if m[next] != 0 {
				end = next + 1
			}
		}
		count++
		body = appendSigned(append(body, 0, 0x41), int64(at))
		body = binary.AppendUvarint(append(body, 0x0b), uint64(end-at))
		body = append(body, m[at:end]...)
		at = end
	}
	return append(binary.AppendUvarint(nil, uint64(count)), body...)
}

func appendSigned(out []byte, n int64) []byte {
	for n >= 0x40 || n < -0x40 {
		out = append(out, byte(n)|0x80)
		n >>= 7
	}
	return append(out, byte(n)&0x7f)
}

// reader reads parts of a module. Past its end all is zero and bad.
type reader struct {
	left []byte
	bad  bool
}

func (r *reader) byte() byte {
	b := r.bytes(1)
	if r.bad {
		return 0
	}
	return b[0]
}

func (r *reader) bytes(n int) []byte {
	if r.bad = r.bad || n < 0 || n > len(r.left); r.bad {
		return nil
	}
	b := r.left[:n]
	r.left = r.left[n:]
	return b
}

func (r *reader) unsigned() uint64 {
	n, size := binary.Uvarint(r.left)
	if r.bad = r.bad || size <= 0; r.bad {
		return 0
	}
	r.left = r.left[size:]
	return n
}

func (r *reader) signed() (n int64) {
	for shift := 0; shift < 64 && !r.bad; shift += 7 {
		b := r.byte()
		n |= int64(b&0x7f) << shift
		if b < 0x80 {
			if b >= 0x40 && shift+7 < 64 {
				n |= -1 << (shift + 7)
			}
			return n
		}
	}
	r.bad = true
	return 0
}
