package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"testing"
)

// module makes a module of a section of code and one of data: each part at its address.
func module(parts map[int]string, order ...int) []byte {
	data := binary.AppendUvarint(nil, uint64(len(order)))
	for _, at := range order {
		data = append(appendSigned(append(data, 0, 0x41), int64(at)), 0x0b)
		data = append(binary.AppendUvarint(data, uint64(len(parts[at]))), parts[at]...)
	}
	out := []byte("\x00asm\x01\x00\x00\x00\x0a\x03abc\x0b")
	return append(binary.AppendUvarint(out, uint64(len(data))), data...)
}

// inMemory reads the segments of the last section of a module.
func inMemory(t *testing.T, m []byte) (memory, uint64) {
	t.Helper()
	r := reader{left: m[8+5+1:]}
	body := r.bytes(int(r.unsigned()))
	all, ok := readMemory(body)
	if !ok {
		t.Fatalf("no data in % x", m)
	}
	return all, (&reader{left: body}).unsigned()
}

func asItIs(memory) error { return nil }

func TestPackedLeavesMemoryAsItWas(t *testing.T) {
	parts := map[int]string{3: "abc", 8: "d\x00\x00e", 200: "far", 8000: "\x80", 70: "before"}
	was := module(parts, 3, 8, 200, 8000, 70)
	now, err := packed(was, asItIs)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(now[:13], was[:13]) {
		t.Errorf("the code is now % x", now[:13])
	}
	before, segments := inMemory(t, was)
	after, fewer := inMemory(t, now)
	if !bytes.Equal(before, after) {
		t.Errorf("memory was %q and is %q", before, after)
	}
	if segments != 5 || fewer != 4 {
		t.Errorf("%d segments became %d; two of five lie close", segments, fewer)
	}
}

func TestPackedRefusesWhatIsNoModule(t *testing.T) {
	whole := module(map[int]string{3: "abc"}, 3)
	for n := range whole {
		if n == 8 || n == 13 { // whole sections
			continue
		}
		if _, err := packed(whole[:n], asItIs); !errors.Is(err, errModule) {
			t.Errorf("the first %d bytes gave %v", n, err)
		}
	}
}
