package demo

import (
	"bytes"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"evenwhite/api"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
)

// cardAt is the grey card in the still.
var cardAt = image.Rect(60, 34, 100, 58)

// cardStill is a small frame as B shows it: a dark wall, and a grey card of
// R 112, G 107, B 100 with a grain of one code.
func cardStill(t *testing.T) []byte {
	t.Helper()
	frame := image.NewNRGBA(image.Rect(0, 0, 160, 90))
	for y := range 90 {
		for x := range 160 {
			c := color.NRGBA{uint8(38 + x/8), uint8(34 + x/8), uint8(30 + y/10), 255}
			if (image.Point{x, y}).In(cardAt) {
				grain := uint8((x + 2*y) % 3)
				c = color.NRGBA{111 + grain, 106 + grain, 99 + grain, 255}
			}
			frame.SetNRGBA(x, y, c)
		}
	}
	var file bytes.Buffer
	if err := png.Encode(&file, frame); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// The README sends this file: it must show what the sample was read from.
func TestTheStillOfTheCardIsAtHand(t *testing.T) {
	path := filepath.Join(goldenFolder, "card.png")
	made := cardStill(t)
	if *update {
		if err := os.WriteFile(path, made, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	// Two versions of a packer may write other bytes of the same picture.
	a, errA := png.Decode(bytes.NewReader(kept))
	b, errB := png.Decode(bytes.NewReader(made))
	if errA != nil || errB != nil || a.Bounds() != b.Bounds() {
		t.Fatalf("got %v and %v, want two pictures of one size", errA, errB)
	}
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			if a.At(x, y) != b.At(x, y) {
				t.Fatalf("pixel %d, %d: got %v in the file, want %v", x, y, a.At(x, y), b.At(x, y))
			}
		}
	}
}

// The data hold what the program reads from the file.
func TestTheSampleIsWhatTheStillSays(t *testing.T) {
	still, err := os.ReadFile(filepath.Join(goldenFolder, "card.png"))
	if err != nil {
		t.Fatal(err)
	}
	read, err := api.MeasureStill(still, cameras.StillQuery{Encoding: "bt1886", Primaries: "bt709", Range: "full",
		X: cardAt.Min.X, Y: cardAt.Min.Y, Width: cardAt.Dx(), Height: cardAt.Dy()})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(read.Sample)
	if err != nil {
		t.Fatal(err)
	}
	want, err := logbook.ParseValue(string(text))
	if err != nil {
		t.Fatal(err)
	}
	demoLog(t).Read(func(b *logbook.Book) {
		v, _ := b.RecordOf(kinds.Sample, recordID("sample/52d-b"))
		for field, value := range want.Members() {
			if got := v.Value(field); got != value {
				t.Errorf("%s: got %s, the still says %s", field, got, value)
			}
		}
	})
}
