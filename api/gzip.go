package api

import (
	"bytes"
	"compress/flate"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"strconv"
	"strings"
	"sync"
)

var gzipReaders = sync.Pool{New: func() any { return new(gzip.Reader) }}

// unpacked returns what a gzip body holds, at most so many bytes. One member is
// taken: browsers pass over all but the first, so that a second would be lost without
// a word where a device unpacks what it sent.
func unpacked(body []byte, most int) ([]byte, error) {
	notGzip := func(what string) error {
		return &Wrong{"the body is not gzip as it is taken here",
			[]FieldProblem{{"body", what, "one gzip member (RFC 1952) and nothing behind it"}}}
	}
	from := bytes.NewReader(body)
	z := gzipReaders.Get().(*gzip.Reader)
	defer gzipReaders.Put(z)
	if err := z.Reset(from); err != nil {
		return nil, notGzip(err.Error())
	}
	z.Multistream(false)
	out, err := io.ReadAll(io.LimitReader(z, int64(most)+1))
	if len(out) > most {
		return nil, fmt.Errorf("%w: unpacked it has more than %d MiB, which is what is taken here", ErrTooLarge, most>>20)
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, notGzip("cut off")
	}
	if err != nil {
		return nil, notGzip(err.Error())
	}
	if from.Len() > 0 {
		return nil, notGzip(fmt.Sprintf("%d bytes behind the first member", from.Len()))
	}
	return out, nil
}

// deflaters pack well what is shared, and quickly what is for one device alone:
// clearing the tables of the former takes longer than packing an answer's few rows.
var (
	deflaters      = sync.Pool{New: func() any { return newDeflater(flate.DefaultCompression) }}
	quickDeflaters = sync.Pool{New: func() any { return newDeflater(flate.BestSpeed) }}
)

func newDeflater(level int) *flate.Writer {
	w, err := flate.NewWriter(nil, level)
	if err != nil {
		panic(err) // the level is a constant
	}
	return w
}

// deflate packs text into blocks of which none is the last and which end at a byte,
// so that others can stand behind them.
func deflate(text []byte, with *sync.Pool) []byte {
	var out bytes.Buffer
	w := with.Get().(*flate.Writer)
	defer with.Put(w)
	w.Reset(&out)
	_, _ = w.Write(text) // a buffer takes everything
	_ = w.Flush()
	return out.Bytes()
}

// packShared is how the pieces that many devices get are packed.
func packShared(text []byte) []byte {
	if len(text) < shortText {
		return deflate(text, &quickDeflaters)
	}
	return deflate(text, &deflaters)
}

// shortText is a text on which more work saves next to nothing.
const shortText = 4 << 10

// A gzipMember joins pieces that were packed apart into one member.
type gzipMember struct {
	out  []byte
	crc  uint32
	size uint32
}

func newGzipMember() *gzipMember {
	return &gzipMember{out: []byte{0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 255}}
}

// add appends a text and the blocks that it was packed into.
func (m *gzipMember) add(text, packed []byte) {
	m.crc = crc32.Update(m.crc, crc32.IEEETable, text)
	m.size += uint32(len(text))
	m.out = append(m.out, packed...)
}

// addPlain appends a text of at most 64 KiB in a block that is not packed: a short one
// is not made shorter.
func (m *gzipMember) addPlain(text []byte) {
	block := []byte{0} // neither the last nor packed (RFC 1951, section 3.2.4)
	block = binary.LittleEndian.AppendUint16(block, uint16(len(text)))
	block = binary.LittleEndian.AppendUint16(block, ^uint16(len(text)))
	m.add(text, append(block, text...))
}

// end closes the member: an empty last block, the checksum and the size.
func (m *gzipMember) end() []byte {
	m.out = append(m.out, 0x03, 0x00)
	m.out = binary.LittleEndian.AppendUint32(m.out, m.crc)
	return binary.LittleEndian.AppendUint32(m.out, m.size)
}

// accepted is the weight that a header such as Accept gives to a name: 0 where it is
// not listed, or its weight is none (RFC 9110, section 12.4.2).
func accepted(header, name string) float64 {
	for item := range strings.SplitSeq(header, ",") {
		listed, parameters, _ := strings.Cut(item, ";")
		if !strings.EqualFold(strings.TrimSpace(listed), name) {
			continue
		}
		weight := valueOf(parameters, "q")
		if weight == "" {
			return 1
		}
		if q, err := strconv.ParseFloat(weight, 64); err == nil && q >= 0 && q <= 1 {
			return q
		}
		return 0
	}
	return 0
}

// parameter is the value that a parameter of a listed name has; "" where it has none.
func parameter(header, name, key string) string {
	for item := range strings.SplitSeq(header, ",") {
		if listed, parameters, _ := strings.Cut(item, ";"); strings.EqualFold(strings.TrimSpace(listed), name) {
			return valueOf(parameters, key)
		}
	}
	return ""
}

func valueOf(parameters, key string) string {
	for p := range strings.SplitSeq(parameters, ";") {
		if k, value, ok := strings.Cut(strings.TrimSpace(p), "="); ok && strings.EqualFold(k, key) {
			return value
		}
	}
	return ""
}
