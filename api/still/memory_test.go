package still

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"os"
	"runtime"
	"testing"

	"golang.org/x/image/tiff"
)

// interlaced is a PNG of one colour in seven passes, which Go writes none of.
func interlaced(t testing.TB, width, height int) []byte {
	t.Helper()
	var raw []byte
	for _, p := range [7][4]int{{0, 0, 8, 8}, {4, 0, 8, 8}, {0, 4, 4, 8}, {2, 0, 4, 4}, {0, 2, 2, 4}, {1, 0, 2, 2}, {0, 1, 1, 2}} {
		row := append([]byte{0}, bytes.Repeat([]byte{0x78}, 6*((width-p[0]+p[2]-1)/p[2]))...)
		raw = append(raw, bytes.Repeat(row, (height-p[1]+p[3]-1)/p[3])...)
	}
	head := binary.BigEndian.AppendUint32(nil, uint32(width))
	head = append(binary.BigEndian.AppendUint32(head, uint32(height)), 16, 2, 0, 0, 1)
	file := []byte(pngSignature)
	for _, c := range []struct {
		name string
		data []byte
	}{{"IHDR", head}, {"IDAT", zipped(t, raw)}, {"IEND", nil}} {
		chunk := append([]byte(c.name), c.data...)
		file = append(binary.BigEndian.AppendUint32(file, uint32(len(c.data))), chunk...)
		file = binary.BigEndian.AppendUint32(file, crc32.ChecksumIEEE(chunk))
	}
	return file
}

// bomb is a TIFF whose strip unpacks to far more than its pixels.
func bomb(t testing.TB) []byte {
	t.Helper()
	file := asTIFF(t, picture16(), &tiff.Options{Compression: tiff.Deflate})
	d, err := readDirectory(file)
	if err != nil {
		t.Fatal(err)
	}
	const tagStripOffsets, tagStripCounts = 273, 279
	strip := zipped(t, make([]byte, 8<<20))
	out := append([]byte(nil), file...)
	for tag, value := range map[uint16]int{tagStripOffsets: len(file), tagStripCounts: len(strip)} {
		e := d.entries[tag]
		at := bytes.Index(out, e)
		binary.LittleEndian.PutUint16(out[at+2:], 4)
		binary.LittleEndian.PutUint32(out[at+8:], uint32(value))
	}
	return append(out, strip...)
}

// What Look counts is what a decoder takes, so that the bound on it holds. A file
// that is not packed is copied a few times on top; it has 40 MiB at most.
func TestDecodingTakesNoMoreMemoryThanWasCounted(t *testing.T) {
	const slack = 256 << 10 // of decoders themselves
	big16, big8 := image.NewRGBA64(image.Rect(0, 0, 800, 600)), image.NewRGBA(image.Rect(0, 0, 800, 600))
	for i := range big16.Pix {
		big16.Pix[i] = 0xff
	}
	for i := range big8.Pix {
		big8.Pix[i] = 0xff
	}
	progressive, err := os.ReadFile("../../testdata/stills/large/progressive.jpg")
	if err != nil {
		t.Fatal(err)
	}
	for name, file := range map[string][]byte{
		"PNG of 8 bits": asPNG(t, big8), "PNG of 16 bits": asPNG(t, big16), "PNG in passes": interlaced(t, 800, 600),
		"JPEG": asJPEG(t, big8), "progressive JPEG": progressive,
		"TIFF": asTIFF(t, big16, nil), "TIFF in one strip": asTIFF(t, big16, &tiff.Options{Compression: tiff.Deflate}),
		"TIFF that is a bomb": bomb(t),
	} {
		t.Run(name, func(t *testing.T) {
			f, err := Look(file)
			if err != nil {
				t.Fatal(err)
			}
			got := allocated(func() {
				err = f.Pixels(image.Rect(0, 0, 8, 8), func(int, int, [3]float64) error { return nil })
			})
			most := uint64(f.marks.memory) + 4*uint64(len(file)) + slack
			if f.Format == "TIFF" {
				// All that a buffer took while it grew; the race detector's grows in more steps.
				most += uint64(f.marks.memory) / 2
			}
			if got > most {
				t.Errorf("decoding took %d bytes (%v), counted were %d", got, err, f.marks.memory)
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
