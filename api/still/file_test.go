package still

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/tiff"

	"evenwhite/colorimetry"
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

// The equations of T.871: R = Y + 1.402 (Cr − 128), B = Y + 1.772 (Cb − 128),
// G = Y − 0.344136 (Cb − 128) − 0.714136 (Cr − 128).
func TestJPEGIsFullRangeByTheMatrixOfJFIF(t *testing.T) {
	got := fromYCbCr(118, 120, 140)
	for i, want := range [...]float64{118 + 1.402*12, 118 + 0.344136*8 - 0.714136*12, 118 - 1.772*8} {
		if math.Abs(got[i]-want) > 1e-4 {
			t.Errorf("channel %d: got %v, want %v", i, got[i], want)
		}
	}
	grey := image.NewRGBA(box)
	for i := range grey.Pix {
		grey.Pix[i] = [...]byte{120, 118, 110, 255}[i%4]
	}
	f, err := Look(asJPEG(t, grey))
	if err != nil {
		t.Fatal(err)
	}
	err = f.Pixels(box, func(_, _ int, code [3]float64) error {
		for i, want := range [...]float64{120, 118, 110} {
			if math.Abs(code[i]-want) > 1.5 {
				return fmt.Errorf("channel %d: got %v, want %v", i, code[i], want)
			}
		}
		return nil
	})
	if err != nil {
		t.Error(err)
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

// profileOf is an ICC profile that holds nothing but its colorants.
func profileOf(t testing.TB, p colorimetry.Primaries) []byte {
	t.Helper()
	white, err := profileWhite.XY()
	if err != nil {
		t.Fatal(err)
	}
	profile := binary.BigEndian.AppendUint32(make([]byte, 128), 3)
	var data []byte
	for i, c := range [...]colorimetry.XY{p.R, p.G, p.B} {
		profile = append(profile, profileTags[i]...)
		profile = binary.BigEndian.AppendUint32(profile, uint32(132+36+len(data)))
		profile = binary.BigEndian.AppendUint32(profile, 20)
		v, err := colorimetry.Bradford.Adapt(c.XYZ(0.3), p.White, white)
		if err != nil {
			t.Fatal(err)
		}
		data = append(data, "XYZ \x00\x00\x00\x00"...)
		for _, f := range [...]float64{v.X, v.Y, v.Z} {
			data = binary.BigEndian.AppendUint32(data, uint32(int32(math.Round(f*65536))))
		}
	}
	return append(profile, data...)
}

func zipped(t testing.TB, data []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zlib.NewWriter(&b)
	if _, err := w.Write(data); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The sRGB profile's colorants are published as 0.4360 0.2225 0.0139 (red),
// 0.3851 0.7169 0.0971 (green), 0.1431 0.0606 0.7141 (blue) (from memory).
func TestProfileColorantsAreThoseThatArePublished(t *testing.T) {
	f := &File{}
	f.marks.profile = profileOf(t, colorimetry.BT709)
	for i, want := range [...][3]float64{{0.4360, 0.2225, 0.0139}, {0.3851, 0.7169, 0.0971}, {0.1431, 0.0606, 0.7141}} {
		x, y, ok := profileColorant(f.marks.profile, profileTags[i])
		sum := want[0] + want[1] + want[2]
		if !ok || math.Abs(x-want[0]/sum) > 0.001 || math.Abs(y-want[1]/sum) > 0.001 {
			t.Errorf("%s: got %.4f %.4f (%v), want %.4f %.4f", profileTags[i], x, y, ok, want[0]/sum, want[1]/sum)
		}
	}
}

func TestMarksThatContradictAreReported(t *testing.T) {
	p8, j8 := asPNG(t, picture8()), asJPEG(t, picture8())
	wideProfile := profileOf(t, colorimetry.BT2020)
	chroma := func(p colorimetry.Primaries) (data []byte) {
		for _, c := range [...]colorimetry.XY{p.White, p.R, p.G, p.B} {
			data = binary.BigEndian.AppendUint32(data, uint32(math.Round(c.X*1e5)))
			data = binary.BigEndian.AppendUint32(data, uint32(math.Round(c.Y*1e5)))
		}
		return data
	}
	for _, c := range []struct {
		name     string
		file     []byte
		transfer string
		stated   colorimetry.Primaries
		says     string
	}{
		{"no marks", p8, "bt1886", colorimetry.BT2020, ""},
		{"a profile of bt2020 as bt709", withChunk(p8, "iCCP", append([]byte("x\x00\x00"), zipped(t, wideProfile)...)), "bt1886", colorimetry.BT709, "profile"},
		{"a profile of bt2020 as bt2020", withChunk(p8, "iCCP", append([]byte("x\x00\x00"), zipped(t, wideProfile)...)), "bt1886", colorimetry.BT2020, ""},
		{"a profile of p3 in a JPEG as bt709", withSegment(j8, 0xe2, append([]byte(profileHead+"\x01\x01"), profileOf(t, colorimetry.P3D65)...)), "sRGB", colorimetry.BT709, "profile"},
		{"a profile of bt709 in a JPEG as bt709", withSegment(j8, 0xe2, append([]byte(profileHead+"\x01\x01"), profileOf(t, colorimetry.BT709)...)), "sRGB", colorimetry.BT709, ""},
		{"cHRM of p3 as bt709", withChunk(p8, "cHRM", chroma(colorimetry.P3D65)), "sRGB", colorimetry.BT709, "cHRM"},
		{"cHRM of p3 as p3", withChunk(p8, "cHRM", chroma(colorimetry.P3D65)), "sRGB", colorimetry.P3D65, ""},
		{"sRGB as linear", withChunk(p8, "sRGB", []byte{0}), "linear", colorimetry.BT709, "marked as sRGB"},
		{"sRGB as sRGB", withChunk(p8, "sRGB", []byte{0}), "sRGB", colorimetry.BT709, ""},
		{"cICP of PQ in bt2020 as sRGB in bt709", withChunk(p8, "cICP", []byte{9, 16, 0, 1}), "sRGB", colorimetry.BT709, "cICP"},
		{"cICP of PQ in bt2020 as that", withChunk(p8, "cICP", []byte{9, 16, 0, 1}), "pq", colorimetry.BT2020, ""},
		{"a profile that swells", withChunk(p8, "iCCP", append([]byte("x\x00\x00"), zipped(t, make([]byte, 64<<20))...)), "sRGB", colorimetry.BT709, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Look(c.file)
			if err != nil {
				t.Fatal(err)
			}
			got := strings.Join(f.Contradictions(c.transfer, c.stated), "; ")
			if (got == "") != (c.says == "") || !strings.Contains(got, c.says) {
				t.Errorf("got %q, want %q", got, c.says)
			}
		})
	}
}

// allocated is how much was allocated meanwhile, of all goroutines.
func allocated(do func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

func TestAHeaderAloneAllocatesNothing(t *testing.T) {
	liar := append([]byte(nil), asPNG(t, picture16())...)
	binary.BigEndian.PutUint32(liar[16:], 16384)
	binary.BigEndian.PutUint32(liar[20:], 16384)
	strips := withTag(t, withTag(t, asTIFF(t, picture16(), &tiff.Options{Compression: tiff.Deflate}), tagWidth, 16000), tagHeight, 16000)
	for name, file := range map[string][]byte{"a PNG of 2 GiB": liar, "a TIFF of 2 GiB": strips} {
		if got := allocated(func() {
			if _, err := Look(file); err == nil {
				t.Errorf("%s: taken", name)
			}
		}); got > 1<<20 {
			t.Errorf("%s: %d bytes were allocated, want at most 1 MiB", name, got)
		}
	}
}

// look does with a file what the service does, but for large ones.
func look(t *testing.T, body []byte) {
	f, err := Look(body)
	if err == nil {
		if f.marks.memory > 8<<20 {
			return
		}
		err = f.Pixels(image.Rect(0, 0, min(f.Width, 16), min(f.Height, 16)), func(_, _ int, code [3]float64) error {
			top := math.Ldexp(1, f.Bits) - 1
			for _, v := range code {
				if !(v >= 0 && v <= top) {
					t.Fatalf("a code of %v at %d bits", v, f.Bits)
				}
			}
			return nil
		})
		f.Contradictions("sRGB", colorimetry.BT709)
	}
	if err != nil && !errors.Is(err, ErrFile) {
		t.Fatalf("got %v, want ErrFile", err)
	}
}

func realFiles(t testing.TB) [][]byte {
	p8, j8 := asPNG(t, picture8()), asJPEG(t, picture8())
	return [][]byte{
		p8, asPNG(t, picture16()), j8, asTIFF(t, picture8(), nil),
		asTIFF(t, picture16(), &tiff.Options{Compression: tiff.Deflate, Predictor: true}),
		withChunk(p8, "iCCP", append([]byte("x\x00\x00"), zipped(t, profileOf(t, colorimetry.BT709))...)),
		withSegment(withSegment(j8, 0xe2, append([]byte(profileHead+"\x01\x01"), profileOf(t, colorimetry.BT709)...)), 0xe1, append([]byte("Exif\x00\x00"), exif(1)...)),
		withChunk(withChunk(p8, "eXIf", exif(1)), "cICP", []byte{9, 16, 0, 1}),
	}
}

func TestMutatedFilesAreAnAnswerOrAnError(t *testing.T) {
	const seed = 4
	random := rand.New(rand.NewPCG(seed, 1))
	t.Logf("seed %d", seed)
	files := realFiles(t)
	foreign := foreignFiles(t)
	for _, name := range slices.Sorted(maps.Keys(foreign)) {
		files = append(files, foreign[name])
	}
	for range 2500 {
		body := append([]byte(nil), files[random.IntN(len(files))]...)
		for range 1 + random.IntN(8) {
			switch at := random.IntN(len(body)); random.IntN(5) {
			case 0:
				body = body[:at+1]
			case 1:
				body[at] = 0xff
			default:
				if random.IntN(2) == 0 {
					at = min(at, random.IntN(200)) % len(body)
				}
				body[at] = byte(random.Uint32())
			}
		}
		look(t, body)
	}
}

func FuzzLook(f *testing.F) {
	for _, file := range realFiles(f) {
		f.Add(file)
	}
	for _, file := range foreignFiles(f) {
		f.Add(file)
	}
	f.Fuzz(look)
}

// The files of testdata/stills were written by other programs: Pillow 9.4 and tiffcp
// 4.5 of libtiff, from one invented picture.
func foreignFiles(t testing.TB) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob("../../testdata/stills/*.*")
	if err != nil || len(names) < 16 {
		t.Fatalf("%d files of testdata/stills (%v), want 16 or more", len(names), err)
	}
	files := map[string][]byte{}
	for _, name := range names {
		if files[filepath.Base(name)], err = os.ReadFile(name); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

func TestFilesOfOtherProgramsGiveThePictureOrAReason(t *testing.T) {
	reasons := map[string]string{
		"refused-jpeg.tif": "compression is 7", "refused-cmyk.tif": "CMYK", "refused-cmyk.jpg": "CMYK", "refused-grey.jpg": "grey",
		"refused-palette.png": "palette", "refused-turned.jpg": "orientation mark is 6",
		"refused-planar.tif": "channels apart", "refused-bigtiff.tif": "allowed are PNG",
	}
	for name, body := range foreignFiles(t) {
		t.Run(name, func(t *testing.T) {
			f, err := Look(body)
			if reason, refused := reasons[name]; refused {
				if !errors.Is(err, ErrFile) || !strings.Contains(err.Error(), reason) {
					t.Errorf("got %v, want a refusal that says %q", err, reason)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			most := 0.0 // JPEG loses, and the sharpest steps most
			if f.Format == "JPEG" {
				most = 6
			}
			err = f.Pixels(image.Rect(0, 0, 80, 72), func(x, y int, code [3]float64) error {
				for i, want := range [...]float64{float64(90 + x/2), float64(100 + y/2), float64(110 + (x+y)/4)} {
					if math.Abs(code[i]-want) > most {
						return fmt.Errorf("channel %d at %d, %d: got %v, want %v", i, x, y, code[i], want)
					}
				}
				return nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
}
