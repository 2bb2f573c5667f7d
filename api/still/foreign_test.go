package still

import (
	"errors"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

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
