package exchange

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"

	"evenwhite/logbook"
)

// A cursor is the place in a log up to which a device has everything: the log's
// identity, a sequence and the chain there. Devices hand it back unread.
type cursor struct {
	identity logbook.Line
	seq      logbook.Seq
	chain    logbook.Chain
}

func (c cursor) String() string {
	var b [24]byte
	copy(b[:8], c.identity[:])
	binary.BigEndian.PutUint64(b[8:16], uint64(c.seq))
	copy(b[16:], c.chain[:])
	return base64.RawURLEncoding.EncodeToString(b[:])
}

func parseCursor(text string) (cursor, error) {
	b, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil || len(b) != 24 {
		return cursor{}, fmt.Errorf("%w: cursor is %q; allowed is one that this service gave", logbook.ErrRequest, logbook.Shorten(text))
	}
	var c cursor
	copy(c.identity[:], b[:8])
	c.seq = logbook.Seq(binary.BigEndian.Uint64(b[8:16]))
	copy(c.chain[:], b[16:])
	return c, nil
}
