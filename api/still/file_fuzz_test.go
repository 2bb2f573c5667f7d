package still

import (
	"errors"
	"image"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"golang.org/x/image/tiff"

	"evenwhite/colorimetry"
)

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
