package etcd

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"strings"

	"evenwhite/logbook"
)

// The names below the prefix.
const (
	layoutKey   = "layout"
	layout      = "1"
	headsUnder  = "heads/"
	logsUnder   = "logs/"
	keptUnder   = "kept/"
	goneUnder   = "gone/"
	asideFolder = "aside/"
)

// keys are the names of one studio.
type keys string

func (k keys) head(production logbook.ID) string { return string(k) + headsUnder + production.String() }
func (k keys) kept(name string) string           { return string(k) + keptUnder + name }

func (k keys) log(production logbook.ID, identity logbook.Line) string {
	return string(k) + logsUnder + production.String() + "/" + hex.EncodeToString(identity[:]) + "/"
}

func (k keys) gone(production logbook.ID, identity logbook.Line) string {
	return string(k) + goneUnder + strings.TrimPrefix(k.log(production, identity), string(k)+logsUnder)
}

func numbered(folder string, n uint64) string { return fmt.Sprintf("%s%016x", folder, n) }

// A head is what stands under the name of a production.
type head struct {
	logbook.Head
	changes uint64 // appended by AppendChange
	clashes uint64 // pages of them
	rev     int64  // of the key; 0: there is none
}

func (h head) encode() string {
	b := append([]byte(nil), h.Identity[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(h.Seq))
	b = append(b, h.Chain[:]...)
	b = binary.BigEndian.AppendUint64(b, h.changes)
	return string(binary.BigEndian.AppendUint64(b, h.clashes))
}

func decodeHead(b []byte, rev int64) (h head, err error) {
	if len(b) != 40 {
		return h, fmt.Errorf("%w: a head has %d bytes", logbook.ErrDamaged, len(b))
	}
	h.rev = rev
	copy(h.Identity[:], b)
	h.Seq = logbook.Seq(binary.BigEndian.Uint64(b[8:]))
	copy(h.Chain[:], b[16:])
	h.changes, h.clashes = binary.BigEndian.Uint64(b[24:]), binary.BigEndian.Uint64(b[32:])
	return h, nil
}

// viaFollows says that the device that brought an edit is not in its bytes.
const viaFollows = 0xff

func appendEntry(b []byte, e logbook.Entry) []byte {
	at := bytes.Index(e.Bytes, e.Via[:])
	if at < 0 || at >= viaFollows {
		at = viaFollows
	}
	b = append(b, byte(at))
	b = binary.BigEndian.AppendUint64(b, uint64(e.Received))
	b = binary.BigEndian.AppendUint32(b, uint32(len(e.Bytes)))
	if at == viaFollows {
		b = append(b, e.Via[:]...)
	}
	return append(b, e.Bytes...)
}

var errPage = fmt.Errorf("%w: a page of edits is none", logbook.ErrDamaged)

// nextEntry copies the first edit out of a page. Its hash is that of its bytes.
func nextEntry(b []byte) (e logbook.Entry, rest []byte, err error) {
	if len(b) < 13 {
		return e, nil, errPage
	}
	at, length := int(b[0]), int(binary.BigEndian.Uint32(b[9:]))
	e.Received = logbook.Millis(binary.BigEndian.Uint64(b[1:]))
	b = b[13:]
	if at == viaFollows {
		if len(b) < 16 {
			return e, nil, errPage
		}
		copy(e.Via[:], b)
		b = b[16:]
	}
	if len(b) < length || at != viaFollows && length < at+16 {
		return e, nil, errPage
	}
	e.Bytes = append([]byte(nil), b[:length]...)
	if at != viaFollows {
		copy(e.Via[:], e.Bytes[at:])
	}
	e.Hash = logbook.HashOf(e.Bytes)
	e.Dot, err = logbook.DotOf(e.Bytes)
	return e, b[length:], err
}

// eachEntry copies all edits out of a page.
func eachEntry(b []byte) (all []logbook.Entry, err error) {
	for len(b) > 0 {
		var e logbook.Entry
		if e, b, err = nextEntry(b); err != nil {
			return nil, err
		}
		all = append(all, e)
	}
	return all, nil
}

// A row is what is held in memory of an edit.
type row struct {
	dot  logbook.Dot
	hash logbook.Hash
}

const rowBytes = 32

func encodeDots(rows []row, size int) string {
	b := binary.BigEndian.AppendUint32(make([]byte, 0, 4+rowBytes*len(rows)), uint32(size))
	for _, r := range rows {
		b = append(b, r.dot.Line[:]...)
		b = binary.BigEndian.AppendUint64(b, r.dot.N)
		b = append(b, r.hash[:]...)
	}
	return string(b)
}

func decodeDots(b []byte) (rows []row, size int, err error) {
	if len(b) < 4+rowBytes || (len(b)-4)%rowBytes != 0 {
		return nil, 0, fmt.Errorf("%w: a page of dots is none", logbook.ErrDamaged)
	}
	size = int(binary.BigEndian.Uint32(b))
	for b = b[4:]; len(b) > 0; b = b[rowBytes:] {
		r := row{dot: logbook.Dot{N: binary.BigEndian.Uint64(b[8:])}, hash: logbook.Hash(b[16:rowBytes])}
		copy(r.dot.Line[:], b)
		rows = append(rows, r)
	}
	return rows, size, nil
}

func encodeAsides(rows []logbook.Aside) string {
	var b []byte
	for _, a := range rows {
		left := byte(0)
		if a.Left {
			left = 1
		}
		b = appendEntry(append(b, left), a.Entry)
	}
	return string(b)
}

func decodeAsides(b []byte) (rows []logbook.Aside, err error) {
	for len(b) > 0 {
		a := logbook.Aside{Left: b[0] == 1}
		if a.Entry, b, err = nextEntry(b[1:]); err != nil {
			return nil, err
		}
		rows = append(rows, a)
	}
	return rows, nil
}
