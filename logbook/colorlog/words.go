package colorlog

import (
	"cmp"
	"strconv"
	"strings"
	"unicode"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// plainSigns are the signs of the program's own words in ASCII: a program that takes UTF-8 for
// another encoding shows a true minus as three strange letters.
var plainSigns = strings.NewReplacer("−", "-", "–", "-", "—", "-", "…", "...", "×", "x", "±", "+/-", "→", "->", "≤", "<=", "≥", ">=",
	"°", " deg", "Δ", "Delta ", "“", `"`, "”", `"`, "’", "'", "\u202f", " ", "\u00a0", " ")

// Spoken turns a code of the contract into people's words: "customFromCard" into "custom from card".
func Spoken(code string) string {
	if !strings.ContainsFunc(code, unicode.IsUpper) {
		return code
	}
	var out strings.Builder
	for i, r := range code {
		if unicode.IsUpper(r) {
			if i > 0 {
				out.WriteByte(' ')
			}
			r = unicode.ToLower(r)
		}
		out.WriteRune(r)
	}
	return out.String()
}

// encodings are the codes of transfers and primaries that have names of their own.
var encodings = map[string]string{
	"bt709": "BT.709", "bt1886": "BT.1886", "bt2020": "BT.2020", "p3D65": "P3 D65", "acesAp0": "ACES AP0", "acesAp1": "ACES AP1",
	"acesCct": "ACEScct", "pq": "PQ", "hlg": "HLG", "sRGB": "sRGB",
	"camera": "primaries of the camera", "typed": "typed primaries",
}

// EncodingWords names transfer and primaries as people say them.
func EncodingWords(transfer, primaries string) string {
	return strings.Trim(wordsOfEncoding(transfer)+", "+wordsOfEncoding(primaries), ", ")
}

// wordsOfEncoding names the parts of "bt1886, bt709".
func wordsOfEncoding(list string) string {
	parts := strings.Split(list, ", ")
	for i, p := range parts {
		parts[i] = cmp.Or(encodings[p], p)
	}
	return strings.Join(parts, ", ")
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func plain(f *float64) string {
	if f == nil {
		return ""
	}
	return strconv.FormatFloat(*f, 'f', -1, 64)
}

func cct(c *figure.Chromaticity) string {
	if c == nil {
		return ""
	}
	return plain(c.CCTKelvin)
}

func duv(c *figure.Chromaticity) string {
	if c == nil {
		return ""
	}
	return plain(c.Duv)
}

// uncolored says why there is no CCT.
func uncolored(c *figure.Chromaticity, problem string) string {
	if c != nil {
		return c.Words
	}
	return cmp.Or(problem, "not known")
}

func idText(id logbook.ID) string {
	if id.IsZero() {
		return ""
	}
	return id.String()
}
