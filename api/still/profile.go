package still

import (
	"bytes"
	"fmt"
	"math"

	"evenwhite/colorimetry"
)

// Contradictions says in words where the marks of the file name another encoding
// than the one that was stated. The stated one is used all the same: files are
// mislabelled more often than people who read a card. Of a profile only the colours
// of the channels are compared, not its curves.
func (f *File) Contradictions(transfer string, p colorimetry.Primaries) (all []string) {
	m := &f.marks
	if off := f.profileOff(p); off > channelsApart {
		all = append(all, fmt.Sprintf("the embedded colour profile has other primaries "+
			"than was said: a channel lies %.3f away in x y; the profile was not used", off))
	}
	if len(m.chroma) == 8 {
		off := 0.0
		for i, c := range [...]colorimetry.XY{p.White, p.R, p.G, p.B} {
			off = max(off, math.Hypot(float64(m.chroma[2*i])/1e5-c.X, float64(m.chroma[2*i+1])/1e5-c.Y))
		}
		if off > channelsApart {
			all = append(all, fmt.Sprintf("the file's cHRM mark has other primaries than was said: %.3f away in x y; it was not used", off))
		}
	}
	if m.srgb && (transfer != "sRGB" || p != colorimetry.BT709) {
		all = append(all, fmt.Sprintf("the file is marked as sRGB, and was read as %s with the primaries that were said", transfer))
	}
	if len(m.cicp) == 4 {
		all = append(all, f.cicpOff(transfer, p)...)
	}
	return all
}

// channelsApart is well above the rounding of profiles, and below the distance of
// any two sets of primaries that are in use.
const channelsApart = 0.01

// The code points of ITU-T H.273 for what is computed here.
var (
	cicpPrimaries = map[byte]colorimetry.Primaries{1: colorimetry.BT709, 9: colorimetry.BT2020, 12: colorimetry.P3D65}
	cicpTransfers = map[byte]string{1: "bt1886", 6: "bt1886", 8: "linear", 13: "sRGB", 14: "bt1886", 15: "bt1886", 16: "pq", 18: "hlg"}
)

func (f *File) cicpOff(transfer string, p colorimetry.Primaries) (all []string) {
	if marked, ok := cicpPrimaries[f.marks.cicp[0]]; ok && marked != p {
		all = append(all, fmt.Sprintf("the file's cICP mark has other primaries than was said (code point %d); it was not used", f.marks.cicp[0]))
	}
	if marked, ok := cicpTransfers[f.marks.cicp[1]]; ok && marked != transfer {
		all = append(all, fmt.Sprintf("the file's cICP mark says %s, and it was read as %s", marked, transfer))
	}
	return all
}

// The white of the profile connection space, and how a profile was adapted to it
// [ICC1].
var (
	profileWhite = colorimetry.XYZ{X: 0.9642, Y: 1, Z: 0.8249}
	profileTags  = [3]string{"rXYZ", "gXYZ", "bXYZ"}
)

// profileOff is the greatest distance in x y between the channels of the profile
// and those that were stated, adapted to the profile's white; 0 where the profile
// does not say.
func (f *File) profileOff(p colorimetry.Primaries) (off float64) {
	white, err := profileWhite.XY()
	if err != nil {
		return 0
	}
	for i, c := range [...]colorimetry.XY{p.R, p.G, p.B} {
		x, y, ok := profileColorant(f.marks.profile, profileTags[i])
		if !ok {
			return 0
		}
		stated, err := colorimetry.Bradford.Adapt(c.XYZ(1), p.White, white)
		if err != nil {
			return 0
		}
		sum := stated.X + stated.Y + stated.Z
		off = max(off, math.Hypot(x-stated.X/sum, y-stated.Y/sum))
	}
	return off
}

// profileColorant reads a tag of three numbers of 16 bits before and after the
// point.
func profileColorant(profile []byte, tag string) (x, y float64, ok bool) {
	const head, entry = 132, 12
	count := int(min(be32(profile, 128), 256))
	for i := range count {
		at := head + entry*i
		if at+entry > len(profile) {
			return 0, 0, false
		}
		if string(profile[at:at+4]) != tag {
			continue
		}
		from := int64(be32(profile, at+4))
		if from+20 > int64(len(profile)) || !bytes.HasPrefix(profile[from:], []byte("XYZ ")) {
			return 0, 0, false
		}
		number := func(i int) float64 { return float64(int32(be32(profile, int(from)+8+4*i))) / 65536 }
		sum := number(0) + number(1) + number(2)
		if sum == 0 {
			return 0, 0, false
		}
		return number(0) / sum, number(1) / sum, true
	}
	return 0, 0, false
}
