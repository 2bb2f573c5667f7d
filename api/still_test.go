package api

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync"
	"testing"

	"golang.org/x/image/tiff"

	"evenwhite/colorimetry"
)

// A cardShot is an invented still: a grey card on a black ground, in a light, by a
// camera on a white.
type cardShot struct {
	light, white colorimetry.XY
	encoding     colorimetry.Encoding
	codes        colorimetry.CodeRange
	noise        float64 // part of the linear light
	seed         uint64
}

// card is where the card lies in the picture.
var card = image.Rect(40, 30, 120, 90)

// signals are those of the card, without noise, by sums of this test: the light
// adapted to the display, and the inverse of the matrix of the primaries.
func (s cardShot) signals(t testing.TB) (signal [3]float64) {
	t.Helper()
	seen, err := colorimetry.CAT16.Adapt(s.light.XYZ(0.2), s.white, s.encoding.Primaries.White)
	if err != nil {
		t.Fatal(err)
	}
	xy, err := seen.XY()
	if err != nil {
		t.Fatal(err)
	}
	level, err := s.encoding.Encode(0.2)
	if err != nil {
		t.Fatal(err)
	}
	neutral := [3]float64{level, level, level}
	// A neutral grey corrected to the picture of the light is that picture.
	picture, err := colorimetry.CAT16.Adapt(xy.XYZ(1), s.encoding.Primaries.White, colorimetry.D65)
	if err != nil {
		t.Fatal(err)
	}
	target, err := picture.XY()
	if err != nil {
		t.Fatal(err)
	}
	c, err := s.encoding.Correct(neutral, target)
	if err != nil {
		t.Fatal(err)
	}
	for i := range signal {
		signal[i] = level * c.Ratio[i]
	}
	return signal
}

// shoot draws the picture.
func (s cardShot) shoot(t testing.TB) *image.NRGBA64 {
	t.Helper()
	random := rand.New(rand.NewPCG(s.seed, 2))
	signal := s.signals(t)
	m := image.NewNRGBA64(image.Rect(0, 0, 160, 120))
	for y := range 120 {
		for x := range 160 {
			code := [3]uint16{0, 0, 0}
			for i := range code {
				if !(image.Point{x, y}).In(card) {
					continue
				}
				linear, err := s.encoding.Decode(signal[i])
				if err != nil {
					t.Fatal(err)
				}
				v, err := s.encoding.Encode(linear * (1 + s.noise*random.NormFloat64()))
				if err != nil {
					t.Fatal(err)
				}
				c, err := s.codes.Code(v)
				if err != nil {
					t.Fatal(err)
				}
				code[i] = uint16(math.Round(c))
				if s.codes.Bits == 8 {
					code[i] *= 257
				}
			}
			m.SetNRGBA64(x, y, color.NRGBA64{code[0], code[1], code[2], 0xffff})
		}
	}
	return m
}

// files writes a picture in the forms that are taken for its bits.
func (s cardShot) files(t testing.TB) map[string][]byte {
	t.Helper()
	m := image.Image(s.shoot(t))
	if s.codes.Bits == 8 {
		small := image.NewRGBA(m.Bounds())
		for y := range m.Bounds().Dy() {
			for x := range m.Bounds().Dx() {
				small.Set(x, y, m.At(x, y))
			}
		}
		m = small
	}
	write := func(encode func(b *bytes.Buffer) error) []byte {
		var b bytes.Buffer
		if err := encode(&b); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	all := map[string][]byte{
		"image/png":  write(func(b *bytes.Buffer) error { return png.Encode(b, m) }),
		"image/tiff": write(func(b *bytes.Buffer) error { return tiff.Encode(b, m, &tiff.Options{Compression: tiff.Deflate}) }),
	}
	if s.codes.Bits == 8 {
		all["image/jpeg"] = write(func(b *bytes.Buffer) error { return jpeg.Encode(b, m, &jpeg.Options{Quality: 95}) })
	}
	return all
}

func lightAt(t testing.TB, kelvin, duv float64) colorimetry.XY {
	t.Helper()
	xy, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(kelvin), Duv: colorimetry.Duv(duv)}.XY()
	if err != nil {
		t.Fatal(err)
	}
	return xy
}

const cardQuery = "?x=44&y=34&width=72&height=52&encoding=bt1886&primaries=bt709"

// TestStillBecomesASample: a still of a card in the light of the reading, by a
// camera 20 mired off its label, goes through the door into a sample, and the
// sample says so within its spread.
func TestStillBecomesASample(t *testing.T) {
	g := setStage(t)
	zero, err := colorimetry.Nominal(5600, colorimetry.Daylight) // of B nobody knows: as for a nominal white
	if err != nil {
		t.Fatal(err)
	}
	label, err := zero.CCTDuv()
	if err != nil {
		t.Fatal(err)
	}
	const off, offDuv = 20, -0.003
	for _, bits := range []int{8, 16} {
		shot := cardShot{lightAt(t, 5612, 0.0031), lightAt(t, 1e6/(float64(label.Mired())+off), float64(label.Duv)+offDuv),
			colorimetry.Encoding{Transfer: colorimetry.TransferBT1886, Primaries: colorimetry.BT709}, colorimetry.CodeRange{Bits: bits}, 0.03, 7}
		for media, file := range shot.files(t) {
			before := g.head()
			reading := g.ask("POST", g.base+"/stills"+cardQuery, string(file), "Content-Type", media).want(200)
			if g.head() != before {
				t.Error("reading a still changed the log")
			}
			n := reading.number("sample", "rgb", "bits")
			if int(n) != bits || reading.number("width") != 160 || reading.number("sample", "areaPixels") != 72*52 {
				t.Errorf("%s: got %s", media, reading.body)
			}
			id := g.ask("POST", g.base+"/records/sample", g.fill(fmt.Sprintf(`{"setUp":"$setUp","camera":"$b","body":"$other","rgb":%s,"areaPixels":%s,"spreadPercent":%s,"clippedPercent":%s,
				"settings":{"whiteMode":"kelvin","kelvin":5600},"light":{"as":"reading","reading":"$reading"}}`,
				reading.at("sample", "rgb"), reading.at("sample", "areaPixels"),
				reading.at("sample", "spreadPercent"), reading.at("sample", "clippedPercent")))).want(201).id()
			said := g.ask("GET", g.base+"/records/sample/"+id+"/color", "").want(200)
			spread, spreadDuv := said.number("uncertainty", "mired"), said.number("uncertainty", "duv")
			mired, duv := said.number("error", "mired"), said.number("error", "duv")
			if math.Abs(mired-off) > 3*spread+0.5 || math.Abs(duv-offDuv) > 3*spreadDuv+0.00005 {
				t.Errorf("%s of %d bits: the error is %v mired, %v Duv; want %v ± %v, %v ± %v", media, bits, mired, duv, off, spread, offDuv, spreadDuv)
			}
			if media != "image/jpeg" && bits == 16 && spread > 0.3 {
				t.Errorf("%s: 16 bits were not used: the spread is %v mired", media, spread)
			}
			g.ask("PATCH", g.base+"/records/sample/"+id, `{"struckOut":{"reason":"the test goes on"}}`, "If-Match", g.ask("GET", g.base+"/records/sample/"+id, "").header.Get("ETag")).want(200)
		}
	}
}

func TestStillsAndPatchesThatAreRefused(t *testing.T) {
	g := setStage(t)
	shot := cardShot{lightAt(t, 5600, 0), lightAt(t, 5600, 0),
		colorimetry.Encoding{Transfer: colorimetry.TransferBT1886, Primaries: colorimetry.BT709}, colorimetry.CodeRange{Bits: 8}, 0.01, 3}
	files := shot.files(t)
	flat := func(c color.RGBA) string {
		m := image.NewRGBA(image.Rect(0, 0, 64, 64))
		for i := range m.Pix {
			m.Pix[i] = [...]byte{c.R, c.G, c.B, 255}[i%4]
		}
		var b bytes.Buffer
		if err := png.Encode(&b, m); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	const rest = "&encoding=bt1886&primaries=bt709"
	for _, c := range []struct {
		name, query, media, body string
		status                   int
		says                     string
	}{
		{"nothing", cardQuery, "image/png", "", 400, "allowed are PNG, JPEG and TIFF"},
		{"a text that says it is a picture", cardQuery, "image/png", "hello, hello", 400, "allowed are PNG, JPEG and TIFF"},
		{"another content type", cardQuery, "image/gif", "GIF89a", 415, "image/png"},
		{"more than 40 MiB", cardQuery, "image/png", strings.Repeat("a", 40<<20+1), 413, "40 MiB"},
		{"a rectangle that leaves the picture to the right", "?x=100&y=0&width=61&height=20" + rest, "image/png", string(files["image/png"]), 400, "160 pixels wide"},
		{"a rectangle that leaves it below", "?x=0&y=101&width=20&height=20" + rest, "image/png", string(files["image/png"]), 400, "120 pixels high"},
		{"a negative edge", "?x=-1&y=0&width=20&height=20" + rest, "image/png", string(files["image/png"]), 400, `"x"`},
		{"too few pixels", "?x=50&y=40&width=7&height=20" + rest, "image/png", string(files["image/png"]), 400, "8 or more a side"},
		{"no rectangle", "?encoding=bt1886&primaries=bt709", "image/png", string(files["image/png"]), 400, `"x"`},
		{"an encoding that nobody publishes", "?x=50&y=40&width=20&height=20&encoding=log&primaries=bt709", "image/png", string(files["image/png"]), 400, "encoding"},
		{"a power without its gamma", "?x=50&y=40&width=20&height=20&encoding=power&primaries=bt709", "image/png", string(files["image/png"]), 400, "gamma"},
		{"a gamma without its power", cardQuery + "&gamma=2.2", "image/png", string(files["image/png"]), 400, "gamma"},
		{"black beside the card: clipped", "?x=30&y=30&width=40&height=40" + rest, "image/png", string(files["image/png"]), 422, "clipped part is 0."},
		{"burnt out", "?x=0&y=0&width=20&height=20" + rest, "image/png", flat(color.RGBA{255, 254, 255, 255}), 422, "clipped part is 1, allowed is at most 0.01"},
		{"too bright", "?x=0&y=0&width=20&height=20" + rest, "image/png", flat(color.RGBA{240, 240, 240, 255}), 422, "allowed is 5 to 90 %"},
		{"a red wall", "?x=0&y=0&width=20&height=20" + rest, "image/png", flat(color.RGBA{200, 60, 50, 255}), 422, "not near neutral"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := g.ask("POST", g.base+"/stills"+c.query, c.body, "Content-Type", c.media).want(c.status)
			if !strings.Contains(string(r.body), c.says) {
				t.Errorf("got %s, want it to say %q", r.body, c.says)
			}
		})
	}
}

func TestAStillSaysWhatMakesAPatchWorthLess(t *testing.T) {
	g := setStage(t)
	shot := cardShot{lightAt(t, 5600, 0), lightAt(t, 5600, 0),
		colorimetry.Encoding{Transfer: colorimetry.TransferBT1886, Primaries: colorimetry.BT709}, colorimetry.CodeRange{Bits: 16}, 0, 3}
	m := shot.shoot(t)
	for y := range 120 { // a shadow over the left half
		for x := range 80 {
			p := m.NRGBA64At(x, y)
			p.R, p.G, p.B = p.R-p.R/8, p.G-p.G/8, p.B-p.B/8
			m.SetNRGBA64(x, y, p)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	reading := g.ask("POST", g.base+"/stills"+cardQuery, b.String(), "Content-Type", "image/png").want(200)
	// 7/8 in the signal is (7/8)^2.4 = 0.726 in light: the cells differ by 0.274 of 0.863.
	if got := reading.number("unevenPercent"); math.Abs(got-31.8) > 1 || !strings.Contains(string(reading.body), "unevenly lit") {
		t.Errorf("got %v %%: %s", got, reading.body)
	}
	if got := reading.number("unevenSteps"); got > 0.1 {
		t.Errorf("a shadow is no colour: got %v steps", got)
	}
}

// greyPNG is a picture of 32 by 32 pixels of the code 126.
func greyPNG(t *testing.T) *bytes.Buffer {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 32, 32))
	for i := range m.Pix {
		m.Pix[i] = [...]byte{126, 126, 126, 255}[i%4]
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return &b
}

// 16 is black and 235 white where the range is narrow: code 126 is half-way, and
// 126/255 where it is full.
func TestAStillIsReadInTheRangeThatWasSaid(t *testing.T) {
	g := setStage(t)
	b := greyPNG(t)
	for query, want := range map[string]float64{"&range=narrow": 110.0 / 219, "&range=full": 126.0 / 255, "": 126.0 / 255} {
		reading := g.ask("POST", g.base+"/stills?x=0&y=0&width=32&height=32&encoding=bt1886&primaries=bt709"+query,
			b.String(), "Content-Type", "image/png").want(200)
		if got := reading.number("toNeutral", "level", "g"); math.Abs(got-want) > 0.0001 || reading.number("sample", "rgb", "g") != 126 {
			t.Errorf("%q: got a level of %v: %s, want %v", query, got, reading.at("sample"), want)
		}
	}
}

// A file that is marked as something else than was said is read as was said, with a
// warning.
func TestAStillThatIsMarkedOtherwiseIsWarnedOf(t *testing.T) {
	g := setStage(t)
	b := greyPNG(t)
	const header = 8 + 25 // the mark goes behind it
	mark := append(binary.BigEndian.AppendUint32(nil, 1), "sRGB\x00"...)
	mark = binary.BigEndian.AppendUint32(mark, crc32.ChecksumIEEE(mark[4:]))
	file := b.String()[:header] + string(mark) + b.String()[header:]
	for encoding, warned := range map[string]bool{"sRGB": false, "bt1886": true} {
		reading := g.ask("POST", g.base+"/stills?x=0&y=0&width=32&height=32&primaries=bt709&encoding="+encoding,
			file, "Content-Type", "image/png").want(200)
		if strings.Contains(string(reading.body), "marked as sRGB") != warned || string(reading.at("sample", "rgb", "encoding")) != `"`+encoding+`"` {
			t.Errorf("read as %s: got %s, want a warning: %v", encoding, reading.body, warned)
		}
	}
}

func TestManyStillsAtOnceAllGetAnAnswer(t *testing.T) {
	g := setStage(t)
	shot := cardShot{lightAt(t, 5600, 0), lightAt(t, 5600, 0),
		colorimetry.Encoding{Transfer: colorimetry.TransferBT1886, Primaries: colorimetry.BT709}, colorimetry.CodeRange{Bits: 16}, 0.01, 3}
	file := string(shot.files(t)["image/png"])
	answers := make([]*reply, 12)
	var wait sync.WaitGroup
	for i := range answers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for r := (*reply)(nil); r == nil || r.status == http.StatusServiceUnavailable; answers[i] = r { // one device may bring two
				r = g.ask("POST", g.base+"/stills"+cardQuery, file, "Content-Type", "image/png")
			}
		}()
	}
	wait.Wait()
	for i, r := range answers {
		if r.status != 200 || !bytes.Equal(r.body, answers[0].body) {
			t.Errorf("still %d: got %d %s, want the same as the first", i, r.status, shorten(string(r.body)))
		}
	}
}

// late is a body whose time is over.
type late struct{}

func (late) Read([]byte) (int, error) { return 0, os.ErrDeadlineExceeded }

func TestAStillThatDoesNotArriveInTimeIsToldLikeOtherBodies(t *testing.T) {
	g := setStage(t)
	request := httptest.NewRequest("POST", g.base+"/stills?x=0&y=0&width=8&height=8&encoding=sRGB&primaries=bt709", late{})
	g.show(request)
	request.Header.Set("Content-Type", "image/png")
	answer := httptest.NewRecorder()
	g.serve.ServeHTTP(answer, request)
	said := answer.Body.String()
	if answer.Code != 408 || !strings.Contains(said, problemPrefix+"too-slow") || !strings.Contains(said, "3m0s") {
		t.Errorf("got %d %s", answer.Code, said)
	}
}
