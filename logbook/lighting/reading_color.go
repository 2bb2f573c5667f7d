package lighting

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// ReadingColor is what one reading says.
type ReadingColor struct {
	Reading    logbook.ID           `json:"reading"`
	MeasuredAs string               `json:"measuredAs"` // the form of measured
	Method     string               `json:"method"`     // in words
	Color      *figure.Chromaticity `json:"color,omitempty"`
	Problem    string               `json:"problem,omitempty"` // why there is no colour
	XYZ        *Tristimulus         `json:"xyz,omitempty"`     // of a spectrum, or as typed
	FloorXY    float64              `json:"floorXY"`           // of the meter
	// FloorMired is how far that floor moves the temperature.
	FloorMired     *float64 `json:"floorMired,omitempty"`
	IlluminanceLux *float64 `json:"illuminanceLux,omitempty"`
	// Reported is what the instrument said of itself; nothing is computed from it.
	Reported   *Reported    `json:"reported,omitempty"`
	Similarity []Similarity `json:"similarity"` // empty where the reading holds no spectrum
	Caveats    []string     `json:"caveats,omitempty"`
}

// Reported are figures of colour quality as an instrument showed them.
type Reported struct {
	Ra             *float64 `json:"ra,omitempty"`
	R9             *float64 `json:"r9,omitempty"`
	Rf             *float64 `json:"rf,omitempty"`
	Rg             *float64 `json:"rg,omitempty"`
	TLCI           *float64 `json:"tlci,omitempty"`
	SSI            *float64 `json:"ssi,omitempty"`
	FlickerPercent *float64 `json:"flickerPercent,omitempty"`
}

var readingMethods = map[string]string{
	"cctDuv":   "CCT and Duv as typed",
	"cctCc":    "CCT as typed, Duv from CC through an ideal filter: good to about 30 %",
	"xy":       "x y as typed",
	"uvPrime":  "u' v' as typed",
	"uv":       "u v as typed",
	"xyz":      "X Y Z as typed",
	"spectrum": spectrumMethod,
}

// ColorOfReading says what a reading means. Errors wrap ErrNoRecord, or ErrUnknown
// where a reference is asked for and one of the two readings has no spectrum. A
// reading whose colour cannot be computed is no error: the answer says why.
func ColorOfReading(b *logbook.Book, reading logbook.ID, reference SpectralReference) (ReadingColor, error) {
	v, err := logbook.FindRecord(b, kinds.Reading, "record", reading)
	if err != nil {
		return ReadingColor{}, err
	}
	m, measured := Read(b, v), v.Value("measured")
	c := ReadingColor{Reading: v.ID, Color: m.Color, Problem: m.Problem, FloorXY: m.FloorXY, IlluminanceLux: m.IlluminanceLux,
		Reported: reportedOf(v.Value("reported")), Similarity: []Similarity{}}
	c.MeasuredAs, _ = measured.Member("as").Text()
	c.Method = readingMethods[c.MeasuredAs]
	if Withdrawn(v) {
		c.Caveats = append(c.Caveats, "the reading was withdrawn")
	}
	if m.Color == nil {
		return c, nil
	}
	if _, err := m.Color.CCTDuv(); err == nil {
		floor := m.FloorMired()
		c.FloorMired = &floor
	}
	if c.MeasuredAs == "xyz" {
		n := members{of: measured}
		c.XYZ = &Tristimulus{n.number("x"), n.number("y"), n.number("z")}
	}
	return c, c.compare(b, measured, reference)
}

// compare fills in what only a spectrum shows.
func (c *ReadingColor) compare(b *logbook.Book, measured logbook.Value, reference SpectralReference) error {
	s, err := spectrumOf(measured)
	if err != nil {
		if reference != (SpectralReference{}) {
			return fmt.Errorf("reading %s: %w", c.Reading, err)
		}
		return nil
	}
	xyz, err := s.XYZ(colorimetry.Observer1931)
	if err != nil {
		return err
	}
	c.XYZ = &Tristimulus{xyz.X, xyz.Y, xyz.Z}
	switch {
	case reference == (SpectralReference{}):
		c.Similarity = similarities(s, c.Color.XY)
	case reference.Reading.IsZero():
		c.Similarity = append(c.Similarity, similarity(s, c.Color.XY, reference.Name))
	default:
		v, err := logbook.FindRecord(b, kinds.Reading, "reference", reference.Reading)
		if err != nil {
			return err
		}
		other, err := spectrumOf(v.Value("measured"))
		if err != nil {
			return fmt.Errorf("reference %s: %w", v.ID, err)
		}
		one := Similarity{Reference: "reading", Reading: v.ID, Words: "the reading of " + Read(b, v).Name(b)}
		one.compare(s, other, nil)
		c.Similarity = append(c.Similarity, one)
	}
	return nil
}

func reportedOf(v logbook.Value) *Reported {
	if v == "" {
		return nil
	}
	number := func(name string) *float64 {
		if f, ok := v.Member(name).Float(); ok {
			return &f
		}
		return nil
	}
	return &Reported{number("ra"), number("r9"), number("rf"), number("rg"), number("tlci"), number("ssi"), number("flickerPercent")}
}
