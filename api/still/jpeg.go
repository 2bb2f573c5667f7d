package still

import (
	"bytes"
	"fmt"
)

// mostScans bounds how often a decoder goes over the picture: a file of 40 MB can
// hold a million empty scans. Their mark is counted wherever it stands, because a
// decoder may lose step with the walk below.
const mostScans = 64

const profileHead = "ICC_PROFILE\x00"

// lookJPEG walks the segments up to the first scan.
func (f *File) lookJPEG() error {
	if n := bytes.Count(f.body, []byte{0xff, 0xda}); n > mostScans {
		return fault("the JPEG has %d scans or more, allowed are %d: save it as baseline", n, mostScans)
	}
	if !bytes.Contains(f.body, []byte{0xff, 0xd9}) {
		return fault("the JPEG is cut off: its end mark is missing")
	}
	for at := 2; at+4 <= len(f.body); {
		if f.body[at] != 0xff {
			return fault("the JPEG has no segment at byte %d", at)
		}
		mark := f.body[at+1]
		if mark == 0xff { // a fill byte
			at++
			continue
		}
		length := int(f.body[at+2])<<8 | int(f.body[at+3])
		if length < 2 || at+2+length > len(f.body) {
			return fault("the JPEG ends inside its segment at byte %d", at)
		}
		data := f.body[at+4 : at+2+length]
		at += 2 + length
		switch {
		case mark == 0xda:
			if f.Bits == 0 {
				return fault("the JPEG has a scan before its frame")
			}
			return nil
		case mark >= 0xc0 && mark <= 0xcf && mark != 0xc4 && mark != 0xc8 && mark != 0xcc:
			if err := f.jpegFrame(mark, data); err != nil {
				return err
			}
		case mark == 0xe1 && bytes.HasPrefix(data, []byte("Exif\x00\x00")):
			f.marks.orientation = exifOrientation(data[6:])
		case mark == 0xe2 && bytes.HasPrefix(data, []byte(profileHead)) && len(data) > len(profileHead)+2:
			if len(f.marks.profile) < mostProfile {
				f.marks.profile = append(f.marks.profile, data[len(profileHead)+2:]...)
			}
		}
	}
	return fault("the JPEG has no scan")
}

func (f *File) jpegFrame(mark byte, h []byte) error {
	if f.Bits != 0 {
		return fault("the JPEG has a second frame")
	}
	if mark > 0xc2 {
		return fault("the JPEG is of a kind (SOF%d) that is not taken, allowed are baseline, extended and progressive", mark-0xc0)
	}
	if len(h) < 6 {
		return fault("the JPEG's frame is too short")
	}
	if h[0] != 8 {
		return fault("the JPEG has %d bits, allowed are 8", h[0])
	}
	if h[5] != 3 {
		return fault("the JPEG is %s, allowed are YCbCr and R G B: three components",
			map[byte]string{1: "grey", 4: "CMYK"}[h[5]]+fmt.Sprintf(" (%d components)", h[5]))
	}
	f.Bits, f.Height, f.Width = 8, int(h[1])<<8|int(h[2]), int(h[3])<<8|int(h[4])
	perPixel := int64(4)
	if mark == 0xc2 { // the coefficients of all scans are held, in 4 bytes each
		perPixel += 12
	}
	f.marks.memory = int64(f.Width) * int64(f.Height) * perPixel
	return nil
}
