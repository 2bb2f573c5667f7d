package still

import "encoding/binary"

// The tags of a TIFF that are looked at [TIFF6].
const (
	tagWidth, tagHeight, tagBits, tagCompression = 256, 257, 258, 259
	tagPhotometric, tagOrientation, tagSamples   = 262, 274, 277
	tagRowsPerStrip, tagPlanar                   = 278, 284
	tagTileWidth, tagTileHeight                  = 322, 323
	tagSampleFormat, tagProfile                  = 339, 34675
)

const leastTile = 64

// A directory is the first table of tags.
type directory struct {
	order   binary.ByteOrder
	body    []byte
	entries map[uint16][]byte // 12 bytes each
}

func readDirectory(body []byte) (d directory, err error) {
	d = directory{order: binary.LittleEndian, body: body, entries: map[uint16][]byte{}}
	if len(body) < 8 {
		return d, fault("the table of tags is missing")
	}
	if body[0] == 'M' {
		d.order = binary.BigEndian
	}
	at := int64(d.order.Uint32(body[4:]))
	if at+2 > int64(len(body)) {
		return d, fault("the table of tags lies at byte %d, behind the end", at)
	}
	n := int64(d.order.Uint16(body[at:]))
	if at += 2; at+12*n > int64(len(body)) {
		return d, fault("the table of %d tags ends behind the file", n)
	}
	for ; n > 0; n-- {
		e := body[at : at+12]
		d.entries[d.order.Uint16(e)] = e
		at += 12
	}
	return d, nil
}

// bytes are the values of a tag.
func (d directory) bytes(tag uint16) []byte {
	e, ok := d.entries[tag]
	if !ok {
		return nil
	}
	kind := d.order.Uint16(e[2:])
	size := map[uint16]int64{1: 1, 2: 1, 3: 2, 4: 4, 7: 1}[kind] * int64(d.order.Uint32(e[4:]))
	if size <= 4 {
		return e[8 : 8+size]
	}
	at := int64(d.order.Uint32(e[8:]))
	if at+size > int64(len(d.body)) {
		return nil
	}
	return d.body[at : at+size]
}

// short is the first value of a tag.
func (d directory) short(tag uint16) (int, bool) {
	b := d.bytes(tag)
	kind := uint16(0)
	if e, ok := d.entries[tag]; ok {
		kind = d.order.Uint16(e[2:])
	}
	switch {
	case kind == 1 && len(b) >= 1:
		return int(b[0]), true
	case kind == 3 && len(b) >= 2:
		return int(d.order.Uint16(b)), true
	case kind == 4 && len(b) >= 4:
		return int(d.order.Uint32(b)), true
	}
	return 0, false
}

// or is the value of a tag, or what holds where it is missing.
func (d directory) or(tag uint16, otherwise int) int {
	if v, ok := d.short(tag); ok {
		return v
	}
	return otherwise
}

func (f *File) lookTIFF() error {
	d, err := readDirectory(f.body)
	if err != nil {
		return err
	}
	f.Width, f.Height, f.Bits = d.or(tagWidth, 0), d.or(tagHeight, 0), d.or(tagBits, 1)
	f.marks.orientation, f.marks.profile = d.or(tagOrientation, 0), d.bytes(tagProfile)
	compression := d.or(tagCompression, 1)
	switch photometric := d.or(tagPhotometric, -1); {
	case photometric != 2:
		names := map[int]string{0: "grey", 1: "grey", 3: "of a palette", 5: "CMYK",
			6: "YCbCr", 8: "CIE L*a*b*", 32803: "a raw mosaic", 34892: "linear raw"}
		return fault("the TIFF is %s (photometric %d), allowed is R G B", names[photometric], photometric)
	case f.Bits != 8 && f.Bits != 16:
		return fault("the TIFF has %d bits, allowed are 8 and 16", f.Bits)
	case d.or(tagSampleFormat, 1) != 1:
		return fault("the TIFF's numbers are of format %d, allowed is 1: whole numbers without sign", d.or(tagSampleFormat, 1))
	case d.or(tagPlanar, 1) != 1:
		return fault("the TIFF holds its channels apart (planar configuration %d), allowed is 1: pixel by pixel", d.or(tagPlanar, 1))
	case compression != 1 && compression != 5 && compression != 8 && compression != 32773 && compression != 32946:
		return fault("the TIFF's compression is %d, allowed are none, LZW, Deflate and PackBits", compression)
	}
	f.marks.memory = int64(f.Width) * int64(f.Height) * int64(f.Bits) / 2
	if compression != 1 {
		// A strip or tile is unpacked into a buffer that doubles as it grows, and may
		// unpack to 8 bytes a pixel before it is refused. Each takes an unpacker of its
		// own, so that there must not be millions.
		rows, columns := int64(d.or(tagRowsPerStrip, 0)), int64(f.Width)
		if rows == 0 || rows > int64(f.Height) {
			rows = int64(f.Height)
		}
		if w, ok := d.short(tagTileWidth); ok {
			rows, columns = int64(d.or(tagTileHeight, 0)), int64(w)
			if rows < leastTile || columns < leastTile || rows > mostSide || columns > mostSide {
				return fault("the TIFF's tiles are %d by %d pixels, allowed are %d to %d a side", columns, rows, leastTile, mostSide)
			}
		}
		f.marks.memory += 3 * 8 * rows * columns
	}
	return nil
}
