package api

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

// uvShown is the u' v' of 8-bit codes on a display, by sums of this test: the power 2.4 of BT.1886.
func uvShown(code [3]float64) (u, v float64) {
	var linear [3]float64
	for i, c := range code {
		linear[i] = math.Pow(c/255, 2.4)
	}
	at := on(toXYZ709, linear)
	sum := at[0] + 15*at[1] + 3*at[2]
	return 4 * at[0] / sum, 9 * at[1] / sum
}

func frame(code [3]uint8) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, 64, 64))
	draw.Draw(m, m.Bounds(), image.NewUniform(color.NRGBA{code[0], code[1], code[2], 255}), image.Point{}, draw.Src)
	return m
}

// Post sends a frame of a clip with a card in it, of which the set typed 41, 42.5 and 40.1 percent: the answer
// has how far the frame is from them, and nothing is written.
func TestAFrameIsHeldAgainstTheLog(t *testing.T) {
	g := setStage(t)
	post := g.admit(pairing.Post, "colourist", g.production)
	card := [3]uint8{105, 108, 102}
	at := g.record("clip", "clip") + "/still?x=8&y=8&width=40&height=40&encoding="
	before := g.head()
	u, v := uvShown([3]float64{0.41 * 255, 0.425 * 255, 0.401 * 255})
	for _, c := range []struct {
		about    string
		code     [3]uint8
		encoding string
		stops    float64
		reason   string
	}{
		{"the same picture", card, "bt1886&primaries=bt709", 0, ""},
		{"a warmer picture", [3]uint8{115, 108, 92}, "bt1886&primaries=bt709", 0, ""},
		{"a darker picture", [3]uint8{72, 74, 70}, "bt1886&primaries=bt709", -1.3, "1.3 stops below the grey that the log worked with"},
		{"another encoding", card, "sRGB&primaries=bt709", 0.2, "the frame was read as sRGB, bt709, the log has the clip as bt1886, bt709"},
	} {
		var file bytes.Buffer
		if err := png.Encode(&file, frame(c.code)); err != nil {
			t.Fatal(err)
		}
		r := post.ask("POST", at+c.encoding, file.String(), "Content-Type", "image/png").want(200)
		to, toV := uvShown([3]float64{float64(c.code[0]), float64(c.code[1]), float64(c.code[2])})
		want := math.Hypot(to-u, toV-v) / 0.0011
		within := 0.1
		if strings.HasPrefix(c.encoding, "sRGB") {
			within = 1.5 // its curve is not that of the sums here
		}
		if got := r.number("off", "steps"); math.Abs(got-want) > within {
			t.Errorf("%s: off by %.1f steps, want %.2f: %s", c.about, got, want, r.text("words"))
		}
		if got := r.number("stopsAbove"); math.Abs(got-c.stops) > 0.15 {
			t.Errorf("%s: %.1f stops above, want %.1f", c.about, got, c.stops)
		}
		if r.text("basis") != "card in the clip" || c.reason != "" && !strings.Contains(string(r.body), c.reason) {
			t.Errorf("%s: got %s, want the reason %q", c.about, r.body, c.reason)
		}
	}
	var file bytes.Buffer
	if err := jpeg.Encode(&file, frame(card), nil); err != nil {
		t.Fatal(err)
	}
	r := post.ask("POST", at+"bt1886&primaries=bt709", file.String(), "Content-Type", "image/jpeg").want(200)
	if !strings.Contains(string(r.body), "it is a JPEG") {
		t.Errorf("got %s", r.body)
	}
	if after := g.head(); after != before {
		t.Errorf("the log went on from %v to %v", before, after)
	}
	guest := g.admit(pairing.Guest, "visitor", g.production)
	guest.ask("POST", at+"bt1886&primaries=bt709", file.String(), "Content-Type", "image/jpeg").want(403)
	nowhere := strings.Replace(at, g.ids["clip"], drawID().String(), 1)
	post.ask("POST", nowhere+"bt1886&primaries=bt709", file.String(), "Content-Type", "image/jpeg").want(404)
}

// Of a clip of which nobody knows how its codes stand for light, the log says nothing, and why.
func TestAFrameOfAClipOfWhichTheLogSaysNothing(t *testing.T) {
	g := setStage(t)
	var file bytes.Buffer
	if err := png.Encode(&file, frame([3]uint8{105, 108, 102})); err != nil {
		t.Fatal(err)
	}
	bare := g.ask("POST", g.base+"/records/clip", g.fill(`{"setUp":"$setUp","camera":"$a","body":"$body","whiteMode":"auto","startedAt":"2031-03-04T07:00:00Z"}`)).want(201).id()
	r := g.ask("POST", g.base+"/records/clip/"+bare+"/still?x=8&y=8&width=40&height=40&encoding=bt1886&primaries=bt709", file.String(),
		"Content-Type", "image/png").want(200)
	if r.text("problem") == "" || !strings.HasPrefix(r.text("words"), "the log says nothing of a grey in this clip: ") ||
		r.text("seen", "format") != "PNG" {
		t.Errorf("got %s", r.body)
	}
}
