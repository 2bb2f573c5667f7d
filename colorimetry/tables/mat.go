//go:build ignore

package main

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
)

// Element types of the MAT-file level 5 format that the source files use.
const (
	miInt8       = 1
	miUint8      = 2
	miInt16      = 3
	miUint16     = 4
	miInt32      = 5
	miUint32     = 6
	miSingle     = 7
	miDouble     = 9
	miMatrix     = 14
	miCompressed = 15
)

// matrix holds real numbers column by column, as the file does.
type matrix struct {
	rows, columns int
	values        []float64
}

func (m matrix) at(row, column int) float64 { return m.values[column*m.rows+row] }

// readMatrices returns the numeric two-dimensional matrices of a file by name;
// other variables are passed over.
func readMatrices(path string) (map[string]matrix, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	if len(data) < 128 {
		return nil, fmt.Errorf("%s: shorter than the 128 byte head", path)
	}
	// Level 5 begins with text; in level 4 one of the first four bytes is 0.
	if bytes.IndexByte(data[:4], 0) >= 0 {
		found, err := readLevel4(data)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		return found, nil
	}
	var order binary.ByteOrder = binary.LittleEndian
	if string(data[126:128]) == "MI" {
		order = binary.BigEndian
	}
	found := map[string]matrix{}
	if err := readElements(data[128:], order, found); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return found, nil
}

func readElements(data []byte, order binary.ByteOrder, found map[string]matrix) error {
	for len(data) >= 8 {
		kind, body, rest, err := nextElement(data, order)
		if err != nil {
			return err
		}
		switch kind {
		case miCompressed:
			z, err := zlib.NewReader(bytes.NewReader(body))
			if err != nil {
				return err
			}
			plain, err := io.ReadAll(z)
			if err != nil {
				return err
			}
			if err := readElements(plain, order, found); err != nil {
				return err
			}
		case miMatrix:
			name, m, ok, err := readMatrix(body, order)
			if err != nil {
				return err
			}
			if ok {
				found[name] = m
			}
		}
		data = rest
	}
	return nil
}

// nextElement splits off one tagged element. Short elements keep their size in
// the upper half of the first word and their data in the second; compressed
// elements alone are not padded to eight bytes.
func nextElement(data []byte, order binary.ByteOrder) (kind int, body, rest []byte, err error) {
	if len(data) < 8 {
		return 0, nil, nil, io.ErrUnexpectedEOF
	}
	word := order.Uint32(data)
	if short := int(word >> 16); short != 0 {
		if short > 4 {
			return 0, nil, nil, fmt.Errorf("short element of %d bytes", short)
		}
		return int(word & 0xffff), data[4 : 4+short], data[8:], nil
	}
	size := int(order.Uint32(data[4:]))
	if size > len(data)-8 {
		return 0, nil, nil, io.ErrUnexpectedEOF
	}
	end := 8 + size
	body = data[8:end]
	if word != miCompressed {
		end = min((end+7)&^7, len(data))
	}
	return int(word), body, data[end:], nil
}

func readMatrix(data []byte, order binary.ByteOrder) (name string, m matrix, numeric bool, err error) {
	var parts [4][]byte
	var kinds [4]int
	for i := range parts {
		kinds[i], parts[i], data, err = nextElement(data, order)
		if err != nil {
			if i == 3 {
				return "", matrix{}, false, nil
			}
			return "", matrix{}, false, err
		}
	}
	class := order.Uint32(parts[0]) & 0xff
	if class < 6 || len(parts[1]) != 8 {
		return "", matrix{}, false, nil
	}
	m.rows, m.columns = int(order.Uint32(parts[1])), int(order.Uint32(parts[1][4:]))
	m.values, err = readNumbers(kinds[3], parts[3], order)
	if err == nil && len(m.values) != m.rows*m.columns {
		err = fmt.Errorf("%s: %d numbers for %d × %d", parts[2], len(m.values), m.rows, m.columns)
	}
	return string(parts[2]), m, true, err
}

// readNumbers widens the storage type: writers store whole numbers as the
// smallest integer that holds them, whatever the class of the matrix.
func readNumbers(kind int, data []byte, order binary.ByteOrder) ([]float64, error) {
	sizes := map[int]int{miInt8: 1, miUint8: 1, miInt16: 2, miUint16: 2, miInt32: 4, miUint32: 4, miSingle: 4, miDouble: 8}
	size, known := sizes[kind]
	if !known {
		return nil, fmt.Errorf("storage type %d is not read", kind)
	}
	values := make([]float64, len(data)/size)
	for i := range values {
		b := data[i*size:]
		switch kind {
		case miInt8:
			values[i] = float64(int8(b[0]))
		case miUint8:
			values[i] = float64(b[0])
		case miInt16:
			values[i] = float64(int16(order.Uint16(b)))
		case miUint16:
			values[i] = float64(order.Uint16(b))
		case miInt32:
			values[i] = float64(int32(order.Uint32(b)))
		case miUint32:
			values[i] = float64(order.Uint32(b))
		case miSingle:
			values[i] = float64(math.Float32frombits(order.Uint32(b)))
		case miDouble:
			values[i] = math.Float64frombits(order.Uint64(b))
		}
	}
	return values, nil
}

// level4Doubles is the type word of a big-endian matrix of doubles, the one kind
// of level 4 that the package holds.
const level4Doubles = 1000

func readLevel4(data []byte) (map[string]matrix, error) {
	order := binary.BigEndian
	found := map[string]matrix{}
	for len(data) > 0 {
		if len(data) < 20 {
			return nil, io.ErrUnexpectedEOF
		}
		var head [5]int // type, rows, columns, whether complex, length of the name
		for i := range head {
			head[i] = int(order.Uint32(data[4*i:]))
		}
		if head[0] != level4Doubles || head[3] != 0 || head[4] < 1 {
			return nil, fmt.Errorf("a level 4 matrix of type %d is not read", head[0])
		}
		m := matrix{rows: head[1], columns: head[2]}
		end := 20 + head[4] + 8*m.rows*m.columns
		if end > len(data) {
			return nil, io.ErrUnexpectedEOF
		}
		values, err := readNumbers(miDouble, data[20+head[4]:end], order)
		if err != nil {
			return nil, err
		}
		m.values = values
		found[string(bytes.TrimRight(data[20:20+head[4]], "\x00"))] = m
		data = data[end:]
	}
	return found, nil
}
