package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"strings"
)

// knownGo is the release whose table of functions is known here (runtime/symtab.go and
// runtime2.go there). What another one makes keeps its lines, and is some 0.1 MB larger.
const knownGo = "go1.26"

func knows(release string) bool { return release == knownGo || strings.HasPrefix(release, knownGo+".") }

var errTable = errors.New("it has no table of functions as " + knownGo + " lays it out")

const (
	tableMagic = 0xfffffff1

	headerSize = 72 // magic, sizes, the number of functions and files, then the places of five parts
	namesAt    = 32
	unitsAt    = 40
	filesAt    = 48
	stepsAt    = 56
	functionAt = 64

	nameOffset   = 4 // offsets in the row of a function
	stackSteps   = 16
	fileSteps    = 20
	lineSteps    = 24
	countOfSteps = 28
	unitOffset   = 32
	firstLine    = 36
	countOfData  = 43
	rowSize      = 44

	whereInterrupted = 0 // kinds of steps by an instruction that WebAssembly has no use for
	whereInlined     = 2
	whereArguments   = 3

	treeOfInlined = 3 // kinds of data that only a printed trace reads
	arguments     = 5
	argumentsLive = 6
	wrapped       = 7
)

// withoutLines blanks what only a printed trace of calls reads of the table of functions: files,
// lines, arguments, and the names of functions of other modules. The names of this one's stay, so that a
// fault still says where it was.
func (m memory) withoutLines() error {
	at := m.table()
	if at < 0 {
		return errTable
	}
	part := func(field int) memory { return m[at+int(binary.LittleEndian.Uint64(m[at+field:])):] }
	functions, steps := part(functionAt), part(stepsAt)
	steps = steps[:len(steps)-len(functions)]
	needed := make([]bool, len(steps))
	names := part(namesAt)
	names = names[:len(names)-len(part(unitsAt))]
	unnamed := bytes.IndexByte(names, 0)
	if unnamed < 0 {
		return errTable
	}
	for i := range binary.LittleEndian.Uint64(m[at+8:]) {
		row := functions[functions.word(int(8*i+4)):]
		if name := names[row.word(nameOffset):]; !ours(name) {
			clear(name[:bytes.IndexByte(name, 0)])
			row.setWord(nameOffset, uint32(unnamed))
		}
		for _, field := range []int{fileSteps, lineSteps, unitOffset, firstLine} {
			row.setWord(field, 0)
		}
		count := int(row.word(countOfSteps))
		for kind := range count {
			if kind == whereInterrupted || kind == whereInlined || kind == whereArguments {
				row.setWord(rowSize+4*kind, 0)
			}
			steps.keep(needed, int(row.word(rowSize+4*kind)))
		}
		steps.keep(needed, int(row.word(stackSteps)))
		for kind := range int(row[countOfData]) {
			if kind == treeOfInlined || kind >= arguments && kind <= wrapped {
				row.setWord(rowSize+4*count+4*kind, ^uint32(0))
			}
		}
	}
	for i := range steps {
		if !needed[i] {
			steps[i] = 0
		}
	}
	units := part(unitsAt)
	clear(units[:len(units)-len(steps)-len(functions)]) // the units of the compiler, and the files
	return nil
}

// ours reports whether a name begins as those of this module do.
func ours(name []byte) bool {
	return bytes.HasPrefix(name, []byte("evenwhite/")) || bytes.HasPrefix(name, []byte("main."))
}

// table finds the one table of functions, or returns -1.
func (m memory) table() int {
	found := -1
	for at := 0; at+headerSize <= len(m); at += 8 {
		if m.word(at) != tableMagic || m.word(at+4) != 0x08010000 { // instructions of 1 byte, pointers of 8
			continue
		}
		last := uint64(headerSize)
		for _, field := range []int{namesAt, unitsAt, filesAt, stepsAt, functionAt} {
			next := binary.LittleEndian.Uint64(m[at+field:])
			if next < last || next > uint64(len(m)-at) {
				return -1
			}
			last = next
		}
		if found >= 0 {
			return -1
		}
		found = at
	}
	return found
}

// keep marks the steps that begin at an offset as needed: pairs of numbers, of which the first
// may be 0 only in the first pair. The offset 0 stands for none.
func (m memory) keep(needed []bool, from int) {
	if from == 0 {
		return
	}
	for at := from; ; {
		ends := m[at] == 0 && at > from
		for {
			needed[at] = true
			if at++; m[at-1] < 0x80 {
				break
			}
		}
		if ends {
			return
		}
		for {
			needed[at] = true
			if at++; m[at-1] < 0x80 {
				break
			}
		}
	}
}

func (m memory) word(at int) uint32 { return binary.LittleEndian.Uint32(m[at:]) }

func (m memory) setWord(at int, to uint32) { binary.LittleEndian.PutUint32(m[at:], to) }
