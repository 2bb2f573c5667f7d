package picture

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// bold is how much wider a text in bold is.
const bold = 1.1

// width estimates how wide a text is drawn at most by the fonts that systems have:
// measured in DejaVu Sans, among the widest of them.
func width(text string, em float64) float64 {
	sum := 0.0
	for _, r := range text {
		sum += runeWidth(r)
	}
	return sum * em
}

func runeWidth(r rune) float64 {
	switch {
	case r == ' ' || strings.ContainsRune("il.,:;'|!()[]’′", r):
		return 0.36
	case strings.ContainsRune("fjrt-/", r):
		return 0.42
	case strings.ContainsRune("mwMW%@±+−–=<>", r):
		return 0.97
	case unicode.Is(unicode.Mn, r):
		return 0
	case r >= 0x1100:
		return 1.05
	case unicode.IsUpper(r):
		return 0.75
	}
	return 0.64
}

// cleaned is a text of people in one line.
func cleaned(text string) string {
	return strings.Join(strings.Fields(strings.Map(upright, text)), " ")
}

// capital begins a text as a sentence begins.
func capital(text string) string {
	for i, r := range text {
		return string(unicode.ToUpper(r)) + text[i+utf8.RuneLen(r):]
	}
	return text
}

// fitting cuts a text so that it is no wider.
func fitting(text string, most, em float64) string {
	text = cleaned(text)
	if width(text, em) <= most {
		return text
	}
	out := ""
	for _, r := range text {
		if width(out+string(r)+"…", em) > most {
			break
		}
		out += string(r)
	}
	return strings.TrimSpace(out) + "…"
}

// wrapped breaks a text into lines that are no wider, at spaces where it can.
func wrapped(text string, most, em float64) (lines []string) {
	line := ""
	for _, word := range strings.Fields(strings.Map(upright, text)) {
		if line != "" && width(line+" "+word, em) <= most {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = ""
		for _, r := range word {
			if line != "" && width(line+string(r), em) > most {
				lines = append(lines, line)
				line = ""
			}
			line += string(r)
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
