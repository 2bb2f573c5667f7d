package still

import (
	"bytes"
	"compress/zlib"
	"io"
)

const pngSignature = "\x89PNG\r\n\x1a\n"

// mostProfile is how long an ICC profile may be; a longer one is passed over.
const mostProfile = 4 << 20

// lookPNG walks the chunks up to the pixels.
func (f *File) lookPNG() error {
	b := f.body[len(pngSignature):]
	seen := false
	for len(b) >= 12 {
		length := int64(be32(b, 0))
		name := string(b[4:8])
		if length > int64(len(b)-12) {
			return fault("the PNG ends inside its chunk %q", name)
		}
		data := b[8 : 8+length]
		b = b[12+length:]
		switch name {
		case "IHDR":
			if len(data) != 13 {
				return fault("the PNG's header has %d bytes, allowed are 13", len(data))
			}
			seen = true
			if err := f.pngHeader(data); err != nil {
				return err
			}
		case "iCCP":
			f.marks.profile = pngProfile(data)
		case "sRGB":
			f.marks.srgb = true
		case "cICP":
			if len(data) == 4 {
				f.marks.cicp = data
			}
		case "cHRM":
			for at := 0; len(data) == 32 && at < 32; at += 4 {
				f.marks.chroma = append(f.marks.chroma, be32(data, at))
			}
		case "eXIf":
			f.marks.orientation = exifOrientation(data)
		case "IDAT":
			if !seen {
				return fault("the PNG has pixels before its header")
			}
			f.pngMarksBehind(b)
			return nil
		}
	}
	return fault("the PNG has no pixels")
}

// pngMarksBehind looks for the orientation where it stands behind the pixels.
func (f *File) pngMarksBehind(b []byte) {
	for len(b) >= 12 {
		length := int64(be32(b, 0))
		if length > int64(len(b)-12) {
			return
		}
		if string(b[4:8]) == "eXIf" {
			f.marks.orientation = exifOrientation(b[8 : 8+length])
		}
		b = b[12+length:]
	}
}

func (f *File) pngHeader(h []byte) error {
	f.Width, f.Height, f.Bits = int(be32(h, 0)), int(be32(h, 4)), int(h[8])
	if kind := h[9]; kind != 2 && kind != 6 {
		names := map[byte]string{0: "grey", 3: "of a palette", 4: "grey with alpha"}
		return fault("the PNG is %s (colour type %d), allowed is R G B with or without alpha", names[kind], kind)
	}
	if f.Bits != 8 && f.Bits != 16 {
		return fault("the PNG has %d bits, allowed are 8 and 16", f.Bits)
	}
	f.marks.memory = int64(f.Width) * int64(f.Height) * int64(f.Bits) / 2
	if h[12] != 0 { // the passes are pictures of their own, together as large as the whole one
		f.marks.memory *= 2
	}
	return nil
}

// pngProfile unpacks an ICC profile: a name, a nought, the method, a zlib stream.
func pngProfile(data []byte) []byte {
	end := bytes.IndexByte(data, 0)
	if end < 0 || end+2 > len(data) {
		return nil
	}
	r, err := zlib.NewReader(bytes.NewReader(data[end+2:]))
	if err != nil {
		return nil
	}
	profile, err := io.ReadAll(io.LimitReader(r, mostProfile+1))
	if err != nil || len(profile) > mostProfile {
		return nil
	}
	return profile
}
