package still

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"

	"golang.org/x/image/tiff"
)

// wide and high are those of the pictures that the tests draw.
const wide, high = 40, 30

// codeAt is an invented picture: no two neighbours are alike.
func codeAt(x, y int) [3]uint16 {
	return [3]uint16{uint16(20000 + 257*x), uint16(21000 + 300*y), uint16(22000 + 13*x*y)}
}

func draw(m interface {
	image.Image
	Set(x, y int, c color.Color)
}) image.Image {
	for y := range high {
		for x := range wide {
			c := codeAt(x, y)
			m.Set(x, y, color.RGBA64{c[0], c[1], c[2], 0xffff})
		}
	}
	return m
}

var box = image.Rect(0, 0, wide, high)

func picture8() image.Image  { return draw(image.NewRGBA(box)) }
func picture16() image.Image { return draw(image.NewRGBA64(box)) }

func asPNG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asJPEG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asTIFF(t testing.TB, m image.Image, o *tiff.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := tiff.Encode(&b, m, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// withChunk puts a chunk behind the header of a PNG.
func withChunk(file []byte, name string, data []byte) []byte {
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	chunk = append(append(chunk, name...), data...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	const header = 8 + 25
	return append(append(append([]byte(nil), file[:header]...), chunk...), file[header:]...)
}

// withSegment puts a segment at the beginning of a JPEG.
func withSegment(file []byte, mark byte, data []byte) []byte {
	segment := append([]byte{0xff, mark, byte((len(data) + 2) >> 8), byte(len(data) + 2)}, data...)
	return append(append(append([]byte(nil), file[:2]...), segment...), file[2:]...)
}

// withTag changes the first value of a tag of a little-endian TIFF.
func withTag(t testing.TB, file []byte, tag uint16, value uint16) []byte {
	t.Helper()
	out := append([]byte(nil), file...)
	d, err := readDirectory(out)
	if err != nil {
		t.Fatal(err)
	}
	e, ok := d.entries[tag]
	if !ok {
		t.Fatalf("the TIFF has no tag %d", tag)
	}
	if b := d.bytes(tag); binary.LittleEndian.Uint16(e[2:]) == 3 {
		binary.LittleEndian.PutUint16(b, value)
	} else {
		binary.LittleEndian.PutUint32(b, uint32(value))
	}
	return out
}

// exif is a table of one tag, the orientation.
func exif(orientation byte) []byte {
	return []byte{'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1, 1, 18, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0, 0, 0, 0, 0}
}

func TestPixelsAreTheCodesThatWereStored(t *testing.T) {
	for _, c := range []struct {
		name   string
		file   []byte
		format string
		bits   int
	}{
		{"PNG of 8 bits", asPNG(t, picture8()), "PNG", 8},
		{"PNG of 16 bits", asPNG(t, picture16()), "PNG", 16},
		{"PNG of 8 bits with alpha", asPNG(t, draw(image.NewNRGBA(box))), "PNG", 8},
		{"TIFF of 8 bits", asTIFF(t, picture8(), nil), "TIFF", 8},
		{"TIFF of 16 bits", asTIFF(t, picture16(), nil), "TIFF", 16},
		{"TIFF of 16 bits, Deflate with predictor", asTIFF(t, picture16(), &tiff.Options{Compression: tiff.Deflate, Predictor: true}), "TIFF", 16},
		{"TIFF of 8 bits without multiplied alpha", asTIFF(t, draw(image.NewNRGBA(box)), nil), "TIFF", 8},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Look(c.file)
			if err != nil {
				t.Fatal(err)
			}
			if f.Format != c.format || f.Bits != c.bits || f.Width != wide || f.Height != high {
				t.Fatalf("got %s, %d bits, %d by %d; want %s, %d, %d by %d", f.Format, f.Bits, f.Width, f.Height, c.format, c.bits, wide, high)
			}
			n := 0
			err = f.Pixels(image.Rect(5, 7, 25, 19), func(x, y int, code [3]float64) error {
				n++
				want := codeAt(x+5, y+7)
				for i, v := range code {
					stored := float64(want[i])
					if c.bits == 8 {
						stored = float64(want[i] >> 8)
					}
					if v != stored {
						return fmt.Errorf("channel %d at %d, %d: got %v, want %v", i, x, y, v, stored)
					}
				}
				return nil
			})
			if err != nil || n != 20*12 {
				t.Errorf("after %d pixels of 240: %v", n, err)
			}
		})
	}
}

func TestStillsThatAreRefused(t *testing.T) {
	p8, j8, t8 := asPNG(t, picture8()), asJPEG(t, picture8()), asTIFF(t, picture8(), nil)
	deflated := asTIFF(t, picture8(), &tiff.Options{Compression: tiff.Deflate})
	huge := append([]byte(nil), p8...)
	binary.BigEndian.PutUint32(huge[16:], 16000)
	binary.BigEndian.PutUint32(huge[20:], 16000)
	tall := append([]byte(nil), p8...)
	binary.BigEndian.PutUint32(tall[20:], 1<<30)
	clear := image.NewNRGBA(box)
	for _, c := range []struct {
		name string
		file []byte
		says string
	}{
		{"nothing", nil, "allowed are PNG, JPEG and TIFF"},
		{"a text", []byte("hello, this is no picture"), "allowed are PNG, JPEG and TIFF"},
		{"a grey PNG", asPNG(t, image.NewGray(box)), "grey"},
		{"a PNG of a palette", asPNG(t, image.NewPaletted(box, color.Palette{color.White, color.Black})), "palette"},
		{"a grey JPEG", asJPEG(t, image.NewGray(box)), "grey"},
		{"a grey TIFF", asTIFF(t, image.NewGray(box), nil), "grey"},
		{"a TIFF in CMYK", withTag(t, t8, tagPhotometric, 5), "CMYK"},
		{"a TIFF in YCbCr", withTag(t, t8, tagPhotometric, 6), "YCbCr"},
		{"a TIFF of 12 bits", withTag(t, t8, tagBits, 12), "12 bits"},
		{"a TIFF with a JPEG inside", withTag(t, t8, tagCompression, 7), "compression is 7"},
		{"a TIFF as long as a tower", withTag(t, t8, tagHeight, 60000), "16384"},
		{"a TIFF that says it is larger than it is", withTag(t, t8, tagHeight, 900), "header"},
		{"a PNG of 256 Mpx", huge, "16000 by 16000"},
		{"a PNG as long as a tower", tall, "allowed are 1 to 16384"},
		{"a JPEG of many scans", append(append([]byte(nil), j8...), bytes.Repeat([]byte{0xff, 0xda, 0, 8, 1, 1, 0, 0, 0, 0}, 1000)...), "scans"},
		{"a JPEG without loss", bytes.Replace(j8, []byte{0xff, 0xc0, 0, 17}, []byte{0xff, 0xc3, 0, 17}, 1), "SOF3"},
		{"half a JPEG", j8[:len(j8)/2], "cut off"},
		{"half a PNG", p8[:len(p8)/2], ""},
		{"half a TIFF", deflated[:len(deflated)/2], ""},
		{"a JPEG on its side", withSegment(j8, 0xe1, append([]byte("Exif\x00\x00"), exif(6)...)), "orientation mark is 6"},
		{"a PNG upside down", withChunk(p8, "eXIf", exif(3)), "orientation mark is 3"},
		{"a transparent PNG", asPNG(t, clear), "transparent"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Look(c.file)
			if err == nil {
				err = f.Pixels(image.Rect(0, 0, 8, 8), func(int, int, [3]float64) error { return nil })
			}
			if !errors.Is(err, ErrFile) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want ErrFile that says %q", err, c.says)
			}
		})
	}
	f, err := Look(p8)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []image.Rectangle{image.Rect(-1, 0, 8, 8), image.Rect(33, 0, 41, 8), image.Rect(0, 23, 8, 31), {}} {
		if err := f.Pixels(r, nil); !errors.Is(err, ErrFile) {
			t.Errorf("%v of %d by %d: got %v, want ErrFile", r, wide, high, err)
		}
	}
	if _, err := Look(withSegment(j8, 0xe1, append([]byte("Exif\x00\x00"), exif(1)...))); err != nil {
		t.Errorf("an upright JPEG: %v", err)
	}
}
