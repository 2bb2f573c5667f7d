package still

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"math"
	"strings"
	"testing"

	"evenwhite/colorimetry"
)

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
