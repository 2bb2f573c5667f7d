package spectrumfile

import (
	"bytes"
	"regexp"
	"strconv"
	"strings"
)

// bandField is a field that names its wavelength.
var bandField = regexp.MustCompile(`^(?:SPECTRAL_NM_?|SPECTRAL_|SPEC_|NM_?)(\d{3,4}(?:\.\d+)?)$`)

// cgats is what a file holds, in words.
type cgats struct {
	fields, data         []string
	fieldCount, setCount int
}

// parseCGATS reads fields and data; what else the file says is passed over
// [CGATS17].
func parseCGATS(text []byte) (samples, error) {
	f, err := readCGATS(text)
	if err != nil {
		return samples{}, err
	}
	switch {
	case len(f.fields) == 0:
		return samples{}, fileError(CGATS, "no fields between BEGIN_DATA_FORMAT and END_DATA_FORMAT")
	case f.fieldCount >= 0 && f.fieldCount != len(f.fields):
		return samples{}, fileError(CGATS, "NUMBER_OF_FIELDS is %d, the format has %d", f.fieldCount, len(f.fields))
	case len(f.data) == 0 || len(f.data)%len(f.fields) != 0:
		return samples{}, fileError(CGATS, "%d values for %d fields, allowed is a whole number of sets", len(f.data), len(f.fields))
	}
	sets := len(f.data) / len(f.fields)
	if f.setCount >= 0 && f.setCount != sets {
		return samples{}, fileError(CGATS, "NUMBER_OF_SETS is %d, the data have %d", f.setCount, sets)
	}
	return f.samples(sets)
}

// samples finds the spectrum in one of its two shapes: a set of bands, or a
// set a wavelength.
func (f *cgats) samples(sets int) (out samples, err error) {
	nmField, valueField := -1, -1
	for i, name := range f.fields {
		switch band := bandField.FindStringSubmatch(name); {
		case band != nil:
			nm, known := decimal(band[1])
			value, numeric := decimal(f.data[i])
			if sets != 1 {
				return samples{}, fileError(CGATS, "%d sets, allowed is one spectrum a file", sets)
			}
			if !known || !numeric {
				return samples{}, fileError(CGATS, "%s is %s, allowed is a number", name, shown(f.data[i]))
			}
			if err := out.add(CGATS, nm, value); err != nil {
				return samples{}, err
			}
		case name == "SPECTRAL_NM":
			nmField = i
		case name == "SPECTRAL_DEC" || name == "SPECTRAL_PCT":
			valueField = i
		}
	}
	if len(out.nm) > 0 {
		return out, nil
	}
	if nmField < 0 || valueField < 0 {
		return samples{}, fileError(CGATS, "no spectrum, allowed are fields such as SPECTRAL_NM380 or SPEC_380, or SPECTRAL_NM with SPECTRAL_DEC")
	}
	for i := range sets {
		row := f.data[i*len(f.fields):]
		nm, known := decimal(row[nmField])
		value, numeric := decimal(row[valueField])
		if !known || !numeric {
			return samples{}, fileError(CGATS, "set %d is %s and %s, allowed are numbers", i+1, shown(row[nmField]), shown(row[valueField]))
		}
		if err := out.add(CGATS, nm, value); err != nil {
			return samples{}, err
		}
	}
	return out, nil
}

// readCGATS goes by words, since fields and data may run over any number of
// lines.
func readCGATS(text []byte) (*cgats, error) {
	f := &cgats{fieldCount: -1, setCount: -1}
	section, formats, tables := "", 0, 0
	words := cgatsWords{text: text, line: 1, fresh: true}
	keyword := ""
	for {
		w, ok, err := words.next()
		if err != nil {
			return nil, err
		}
		if !ok {
			break
		}
		switch {
		case section == "" && w.text == "BEGIN_DATA_FORMAT" && !w.quoted:
			section, formats = w.text, formats+1
		case section == "" && w.text == "BEGIN_DATA" && !w.quoted:
			section, tables = w.text, tables+1
		case section != "" && w.text == "END"+strings.TrimPrefix(section, "BEGIN") && !w.quoted:
			section = ""
		case section == "BEGIN_DATA_FORMAT":
			f.fields = append(f.fields, strings.ToUpper(w.text))
		case section == "BEGIN_DATA":
			f.data = append(f.data, w.text)
		case w.first:
			keyword = w.text
		default:
			f.keyword(keyword, w.text)
		}
		if len(f.fields) > 2*maxSamples || len(f.data) > 20*maxSamples {
			return nil, fileError(CGATS, "line %d: more values than a spectrum has", words.line)
		}
	}
	if section != "" || formats != 1 || tables != 1 {
		return nil, fileError(CGATS, "%d data formats and %d tables of data, allowed is one of each, ended by END_DATA_FORMAT and END_DATA",
			formats, tables)
	}
	return f, nil
}

func (f *cgats) keyword(name, value string) {
	n, err := strconv.Atoi(value)
	if err != nil || n < 0 {
		return
	}
	switch name {
	case "NUMBER_OF_FIELDS":
		f.fieldCount = n
	case "NUMBER_OF_SETS":
		f.setCount = n
	}
}

// cgatsWords splits a text by blanks and lines, keeps quoted words whole and
// drops comments.
type cgatsWords struct {
	text  []byte
	line  int
	fresh bool // no word of the line was taken yet
}

type cgatsWord struct {
	text          string
	quoted, first bool
}

func (c *cgatsWords) next() (w cgatsWord, ok bool, err error) {
	for len(c.text) > 0 {
		switch c.text[0] {
		case '\n':
			c.line, c.fresh = c.line+1, true
			c.text = c.text[1:]
		case ' ', '\t', '\r', '\v', '\f':
			c.text = c.text[1:]
		case '#':
			c.text = c.text[lengthUntil(c.text, "\n"):]
		case '"':
			end := lengthUntil(c.text[1:], "\"\n") + 1
			if end == len(c.text) || c.text[end] == '\n' {
				return w, false, fileError(CGATS, "line %d: a quotation mark is not closed", c.line)
			}
			w = cgatsWord{string(c.text[1:end]), true, c.fresh}
			c.text, c.fresh = c.text[end+1:], false
			return w, true, nil
		default:
			end := lengthUntil(c.text, " \t\r\v\f\n")
			w = cgatsWord{string(c.text[:end]), false, c.fresh}
			c.text, c.fresh = c.text[end:], false
			return w, true, nil
		}
	}
	return w, false, nil
}

// lengthUntil counts the bytes before any of the stops.
func lengthUntil(text []byte, stops string) int {
	if i := bytes.IndexAny(text, stops); i >= 0 {
		return i
	}
	return len(text)
}
