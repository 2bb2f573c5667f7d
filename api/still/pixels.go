package still

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/tiff"
)

// Pixels decodes the picture and hands out a rectangle of it, row by row, with
// places counted from the rectangle's corner. Codes are those that are stored: 0 to
// 255 or 0 to 65 535; those of a JPEG come from its Y, Cb and Cr by the matrix of
// JFIF, full range, and are not rounded [T871]. The rectangle must lie in the
// picture. Errors wrap ErrFile, or are those of take.
func (f *File) Pixels(r image.Rectangle, take func(x, y int, code [3]float64) error) error {
	if r.Empty() || !r.In(image.Rect(0, 0, f.Width, f.Height)) {
		return fmt.Errorf("%w: the rectangle %v does not lie in the picture", ErrFile, r)
	}
	picture, err := f.decode()
	if err != nil {
		return err
	}
	if b := picture.Bounds(); b != image.Rect(0, 0, f.Width, f.Height) {
		return fault("its header says %d by %d pixels, the decoder %v", f.Width, f.Height, b)
	}
	at, err := codesOf(picture)
	if err != nil {
		return err
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			code, opaque := at(x, y)
			if !opaque {
				return fault("the pixel at %d, %d is transparent, allowed is a patch that is opaque", x, y)
			}
			if err := take(x-r.Min.X, y-r.Min.Y, code); err != nil {
				return err
			}
		}
	}
	return nil
}

// decode runs the decoder. The file comes from anybody: should a decoder fail over
// it, that is the file's fault and ends nothing else.
func (f *File) decode() (picture image.Image, err error) {
	defer func() {
		if p := recover(); p != nil {
			picture, err = nil, fault("its decoder failed: %v", p)
		}
	}()
	r := bytes.NewReader(f.body)
	switch f.Format {
	case "PNG":
		picture, err = png.Decode(r)
	case "JPEG":
		picture, err = jpeg.Decode(r)
	default:
		picture, err = tiff.Decode(r)
	}
	if err != nil {
		return nil, fault("%v", err)
	}
	return picture, nil
}

// codesOf finds how to read the codes of a pixel. Those types that multiply by
// alpha are read as they are, which is right where alpha is full; opaque says so.
func codesOf(picture image.Image) (at func(x, y int) (code [3]float64, opaque bool), err error) {
	three8 := func(p []byte, i int) ([3]float64, bool) {
		return [3]float64{float64(p[i]), float64(p[i+1]), float64(p[i+2])}, p[i+3] == 0xff
	}
	three16 := func(p []byte, i int) ([3]float64, bool) {
		word := func(j int) float64 { return float64(uint16(p[j])<<8 | uint16(p[j+1])) }
		return [3]float64{word(i), word(i + 2), word(i + 4)}, p[i+6] == 0xff && p[i+7] == 0xff
	}
	switch m := picture.(type) {
	case *image.RGBA:
		return func(x, y int) ([3]float64, bool) { return three8(m.Pix, m.PixOffset(x, y)) }, nil
	case *image.NRGBA:
		return func(x, y int) ([3]float64, bool) { return three8(m.Pix, m.PixOffset(x, y)) }, nil
	case *image.RGBA64:
		return func(x, y int) ([3]float64, bool) { return three16(m.Pix, m.PixOffset(x, y)) }, nil
	case *image.NRGBA64:
		return func(x, y int) ([3]float64, bool) { return three16(m.Pix, m.PixOffset(x, y)) }, nil
	case *image.YCbCr:
		return func(x, y int) ([3]float64, bool) {
			i, j := m.YOffset(x, y), m.COffset(x, y)
			return fromYCbCr(float64(m.Y[i]), float64(m.Cb[j]), float64(m.Cr[j])), true
		}, nil
	}
	return nil, fault("its pixels are %s, allowed are R G B and YCbCr", modelName(picture))
}

// fromYCbCr is full range with the luma weights of BT.601, black at 0 [T871].
func fromYCbCr(y, cb, cr float64) [3]float64 {
	const kr, kb = 0.299, 0.114
	r, b := y+2*(1-kr)*(cr-128), y+2*(1-kb)*(cb-128)
	g := (y - kr*r - kb*b) / (1 - kr - kb)
	return [3]float64{clamp(r), clamp(g), clamp(b)}
}

func clamp(v float64) float64 { return min(max(v, 0), 255) }

func modelName(picture image.Image) string {
	switch picture.ColorModel() {
	case color.GrayModel, color.Gray16Model:
		return "grey"
	case color.CMYKModel:
		return "CMYK"
	}
	return fmt.Sprintf("%T", picture)
}
