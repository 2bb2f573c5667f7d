package logbook

import (
	"errors"

	"evenwhite/colorimetry"
)

// MarshalText writes the hyphenated form.
func (id ID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }

// UnmarshalText reads the hyphenated form; the nil UUID is refused.
func (id *ID) UnmarshalText(text []byte) (err error) {
	*id, err = ParseID(string(text))
	return err
}

// A Chromaticity is a computed colour as it is shown: x and y rounded to five
// decimals, CCT to 1 K and Duv to 0.0001. A coloured light has no CCT and says so
// in Words.
type Chromaticity struct {
	X         float64  `json:"x"`
	Y         float64  `json:"y"`
	CCTKelvin *float64 `json:"cctKelvin,omitempty"`
	Duv       *float64 `json:"duv,omitempty"`
	Words     string   `json:"words"` // "5600 K, Duv +0.0021" or "coloured, no CCT"
	// XY is the unrounded value, for computing on.
	XY colorimetry.XY `json:"-"`
}

// A Difference is how one thing lies from another in the picture: mired +
// warmer, Duv + greener. Mired and Duv are absent where one of the two is
// coloured and has no CCT; steps of 0.0011 u'v' are counted in the picture and
// absent where no picture can be computed.
type Difference struct {
	Mired *float64 `json:"mired,omitempty"`
	Duv   *float64 `json:"duv,omitempty"`
	Steps *float64 `json:"steps,omitempty"`
	Words string   `json:"words"` // "38 mired cooler, 0.0031 greener"
}

// An Origin says where a computed number comes from.
type Origin struct {
	Method     string   `json:"method"`               // in words
	Records    []ID     `json:"records,omitempty"`    // the readings, clips, samples used
	Confidence string   `json:"confidence"`           // measured, mixed, computed, nominal or label
	AgeMinutes *float64 `json:"ageMinutes,omitempty"` // of the oldest reading used
	Caveats    []string `json:"caveats,omitempty"`    // in words
}

// ErrUnknown is wrapped by errors about a thing that cannot be computed from
// what is in the log; the text says what is missing.
var ErrUnknown = errors.New("cannot be computed yet")
