package spectrumfile

import (
	"bytes"
	"regexp"
	"strings"
)

// foreignUnit finds a unit of wavelength that is not nm in the head of the first
// column. Terahertz would otherwise pass for nanometres.
var foreignUnit = regexp.MustCompile(`[\[(]\s*(?:µm|μm|um|å|m|cm|cm\^?-1|1/cm|thz|hz|ev)\s*[\])]|_(?:um|µm|thz|ev)$|\b(?:wavenumber|frequency|microns?|micromet(?:er|re)s?|[aå]ngstr[oö]ms?)\b`)

// maxLine is the longest line of two columns that is read.
const maxLine = 1000

// parseCSV reads two columns. Lines before the first number are taken for a head.
func parseCSV(text []byte) (out samples, err error) {
	separator := ""
	for number := 1; len(text) > 0; number++ {
		var raw []byte
		raw, text, _ = bytes.Cut(text, []byte("\n"))
		if len(raw) > maxLine {
			return samples{}, fileError(CSV, "line %d has %d characters, allowed are %d: a wavelength and a value a line", number, len(raw), maxLine)
		}
		line := strings.TrimSpace(string(raw))
		if line == "" || line[0] == '#' {
			continue
		}
		if separator == "" {
			if separator = csvSeparator(line); separator == "" {
				if unit := foreignUnit.FindString(firstCell(line)); unit != "" {
					return samples{}, fileError(CSV, "line %d says %s, allowed are wavelengths in nm", number, shown(unit))
				}
				continue
			}
		}
		nm, value, ok := csvPair(line, separator)
		if !ok {
			return samples{}, fileError(CSV, "line %d is %s, allowed are two numbers: wavelength in nm and value", number, shown(line))
		}
		if err := out.add(CSV, nm, value); err != nil {
			return samples{}, err
		}
	}
	if len(out.nm) == 0 {
		return samples{}, fileError(CSV, "no line with two numbers, allowed is %s", allowedFormats)
	}
	return out, nil
}

// csvSeparator is the separator of the first line of two numbers, or "" for a
// line of text. A semicolon or a tab goes before the comma, which may then be
// the decimal one.
func csvSeparator(line string) string {
	separators := []string{";", "\t", ",", " "}
	for _, s := range separators {
		if _, _, ok := csvPair(line, s); ok {
			return s
		}
	}
	for _, s := range separators {
		// A first line of numbers with a wrong count of columns is no head.
		first, _, found := strings.Cut(line, s)
		if _, number := csvNumber(first, s); found && number {
			return s
		}
	}
	return ""
}

func csvPair(line, separator string) (nm, value float64, ok bool) {
	cells := strings.Split(line, separator)
	if separator == " " {
		cells = strings.Fields(line)
	}
	for len(cells) > 2 && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	if len(cells) != 2 {
		return 0, 0, false
	}
	nm, known := csvNumber(cells[0], separator)
	value, numeric := csvNumber(cells[1], separator)
	return nm, value, known && numeric
}

func csvNumber(cell, separator string) (float64, bool) {
	cell = strings.Trim(strings.TrimSpace(cell), `"`)
	if separator != "," && strings.Count(cell, ",") == 1 && !strings.Contains(cell, ".") {
		cell = strings.Replace(cell, ",", ".", 1)
	}
	return decimal(cell)
}

// firstCell is the head of the first column in small letters.
func firstCell(head string) string {
	end := strings.IndexAny(head, ";\t,")
	if end < 0 {
		end = len(head)
	}
	return strings.Trim(strings.ToLower(head[:end]), `" `)
}
