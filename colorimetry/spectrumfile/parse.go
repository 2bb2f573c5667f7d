package spectrumfile

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"evenwhite/colorimetry"
)

// ErrUnreadable is wrapped by every error that says that a file cannot be read
// as a spectrum. What it held may be a spectrum outside the domain: then
// colorimetry.ErrDomain is wrapped too.
var ErrUnreadable = errors.New("unreadable spectrum")

// MaxBytes is the greatest size of a spectrum file in bytes.
const MaxBytes = 50 << 20

// maxSamples is more than any legal spectrum has: 200 to 2500 nm at 1 nm.
const maxSamples = colorimetry.MaxWavelengths + 1

// Format is a form of file that spectra come in.
type Format string

const (
	// TM27 is IES TM-27 XML [TM27].
	TM27 Format = "IES TM-27"
	// CGATS is CGATS.17 or ISO 28178 text [CGATS17].
	CGATS Format = "CGATS.17"
	// CSV is two columns of text, wavelength in nm and value.
	CSV Format = "CSV"
	// JSON is one object or an array, see Parse.
	JSON Format = "JSON"
)

const allowedFormats = "IES TM-27 XML, CGATS.17 text, CSV (wavelength in nm, value) or JSON"

// Parse reads a spectrum file of at most 50 MB; the content says its form.
// Wavelengths are in nm everywhere. The file must hold one spectrum of a
// light that passes colorimetry.NewSpectrum:
//
//   - TM-27: any quantity of light, but no transmittance, reflectance or
//     absorptance; a document type declaration is refused;
//   - CGATS.17: one set with fields such as SPECTRAL_NM380 or SPEC_380, or one set
//     a wavelength with the fields SPECTRAL_NM and SPECTRAL_DEC;
//   - CSV: two columns by comma, semicolon, tab or blanks, lines of text before
//     the first number; a decimal comma where the comma does not separate;
//   - JSON: {"wavelengths": […], "values": […], "unit": "nm", "name": "…"} with
//     unit and name optional, or [[wavelength, value], …].
//
// Errors wrap ErrUnreadable and say what is allowed.
func Parse(data []byte) (colorimetry.Spectrum, Format, error) {
	if len(data) > MaxBytes {
		return colorimetry.Spectrum{}, "", fileError("", "%d bytes, allowed are at most %d", len(data), MaxBytes)
	}
	text := bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if bytes.HasPrefix(text, []byte("\xff\xfe")) || bytes.HasPrefix(text, []byte("\xfe\xff")) || bytes.IndexByte(text, 0) >= 0 {
		return colorimetry.Spectrum{}, "", fileError("", "not UTF-8 text, allowed is %s", allowedFormats)
	}
	format, parse := formatOf(text)
	if parse == nil {
		return colorimetry.Spectrum{}, "", fileError("", "empty, allowed is %s", allowedFormats)
	}
	table, err := parse(text)
	if err != nil {
		return colorimetry.Spectrum{}, format, err
	}
	s, err := colorimetry.NewSpectrum(table.nm, table.values)
	if err != nil {
		return colorimetry.Spectrum{}, format, fmt.Errorf("%w (%s): %w", ErrUnreadable, format, err)
	}
	return s, format, nil
}

func formatOf(text []byte) (Format, func([]byte) (samples, error)) {
	trimmed := bytes.TrimSpace(text)
	switch {
	case len(trimmed) == 0:
		return "", nil
	case trimmed[0] == '<':
		return TM27, parseTM27
	case trimmed[0] == '{' || trimmed[0] == '[':
		return JSON, parseJSON
	case bytes.Contains(trimmed, []byte("BEGIN_DATA")) || bytes.HasPrefix(trimmed, []byte("CGATS")):
		return CGATS, parseCGATS
	}
	return CSV, parseCSV
}

// samples are what a parser has read, unchecked but for their number.
type samples struct{ nm, values []float64 }

func (s *samples) add(format Format, nm, value float64) error {
	if len(s.nm) == maxSamples {
		return fileError(format, "more than %d wavelengths, allowed are steps of 1 to 20 nm from 200 to 2500 nm", maxSamples-1)
	}
	s.nm, s.values = append(s.nm, nm), append(s.values, value)
	return nil
}

func fileError(format Format, message string, args ...any) error {
	if format != "" {
		message = "(" + string(format) + ") " + message
	}
	return fmt.Errorf("%w: %s", ErrUnreadable, fmt.Sprintf(message, args...))
}

// decimal reads a decimal number; NaN and infinities come through, so that the
// check of the values names them.
func decimal(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	if strings.ContainsAny(text, "xXpP_") {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil || errors.Is(err, strconv.ErrRange)
}

// shown quotes a piece of a foreign file for a message, cut short.
func shown(text string) string { return strconv.Quote(clipped(text, 40)) }

func clipped(text string, most int) string {
	if len(text) > 4*most {
		text = text[:4*most]
	}
	if r := []rune(strings.ToValidUTF8(text, "?")); len(r) > most {
		return string(r[:most]) + "…"
	}
	return strings.ToValidUTF8(text, "?")
}
