package still

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
)

// MostBytes is how long a file may be.
const MostBytes = 40 << 20

// The bounds of a picture. A long and thin one would make a decoder keep a table
// of its rows.
const (
	mostSide   = 16384
	mostPixels = 64 << 20
	mostMemory = 384 << 20
)

// ErrFile is wrapped by errors about a file that is no still, is damaged, or is of a
// form that is not taken; the text says what was found and what is allowed.
var ErrFile = errors.New("the still cannot be read")

func fault(format string, a ...any) error {
	return fmt.Errorf("%w: %s", ErrFile, fmt.Sprintf(format, a...))
}

// A File is a still that was looked at, but not decoded yet.
type File struct {
	Format        string // PNG, JPEG or TIFF
	Width, Height int
	Bits          int // per channel: 8 or 16
	body          []byte
	marks         marks
}

// marks are what a file says beside its pixels.
type marks struct {
	orientation int    // EXIF's 1 to 8; 0 where it is not said
	profile     []byte // ICC
	srgb        bool   // a mark that says sRGB
	chroma      []uint32
	cicp        []byte // code points of ITU-T H.273
	memory      int64  // what decoding takes, in bytes
}

// Look reads what a file is without decoding it. Errors wrap ErrFile.
func Look(body []byte) (*File, error) {
	f := &File{body: body}
	var err error
	switch {
	case len(body) > MostBytes:
		return nil, fault("it has %d bytes, allowed are at most %d", len(body), MostBytes)
	case bytes.HasPrefix(body, []byte(pngSignature)):
		f.Format = "PNG"
		err = f.lookPNG()
	case bytes.HasPrefix(body, []byte{0xff, 0xd8, 0xff}):
		f.Format = "JPEG"
		err = f.lookJPEG()
	case bytes.HasPrefix(body, []byte("II*\x00")), bytes.HasPrefix(body, []byte("MM\x00*")):
		f.Format = "TIFF"
		err = f.lookTIFF()
	default:
		return nil, fault("it begins with %x, allowed are PNG, JPEG and TIFF", body[:min(len(body), 4)])
	}
	if err != nil {
		return nil, err
	}
	return f, f.check()
}

// check holds what was found against the bounds.
func (f *File) check() error {
	switch {
	case f.Width < 1 || f.Height < 1 || f.Width > mostSide || f.Height > mostSide || f.Width*f.Height > mostPixels:
		return fault("the picture is %d by %d pixels, allowed are 1 to %d a side and %d in all", f.Width, f.Height, mostSide, mostPixels)
	case f.marks.memory > mostMemory:
		return fault("decoding the picture would take %d MiB, allowed are %d: save a smaller one, a JPEG "+
			"as baseline, a TIFF without compression or in short strips", f.marks.memory>>20, mostMemory>>20)
	case f.marks.orientation > 1:
		return fault("its orientation mark is %d, allowed is 1 or none: a rectangle would mean "+
			"another place than on the screen; turn the picture and save it", f.marks.orientation)
	}
	return nil
}

// exifOrientation finds the orientation in the TIFF structure that EXIF is. What
// cannot be read says nothing.
func exifOrientation(body []byte) int {
	d, err := readDirectory(body)
	if err != nil {
		return 0
	}
	v, _ := d.short(tagOrientation)
	return v
}

// be32 is the big-endian number at an offset; 0 beyond the end.
func be32(b []byte, at int) uint32 {
	if at < 0 || at+4 > len(b) {
		return 0
	}
	return binary.BigEndian.Uint32(b[at:])
}
