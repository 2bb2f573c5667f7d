package answers

import "unicode/utf8"

const hexDigits = "0123456789abcdef"

// appendText writes a text in quotes. What encoding/json escapes in case it is put into a page is
// escaped as well.
func appendText(out []byte, text string) []byte {
	out = append(out, '"')
	from := 0
	for i := 0; i < len(text); {
		c, size := rune(text[i]), 1
		switch {
		case c >= utf8.RuneSelf:
			if c, size = utf8.DecodeRuneInString(text[i:]); c != '\u2028' && c != '\u2029' && (c != utf8.RuneError || size > 1) {
				i += size
				continue
			}
		case c >= ' ' && c != '"' && c != '\\' && c != '<' && c != '>' && c != '&':
			i++
			continue
		}
		out = append(out, text[from:i]...)
		out = escaped(out, c)
		i += size
		from = i
	}
	return append(append(out, text[from:]...), '"')
}

func escaped(out []byte, c rune) []byte {
	short := byte(0)
	switch c {
	case '"', '\\':
		short = byte(c)
	case '\n':
		short = 'n'
	case '\r':
		short = 'r'
	case '\t':
		short = 't'
	case '\b':
		short = 'b'
	case '\f':
		short = 'f'
	}
	if short != 0 {
		return append(out, '\\', short)
	}
	return append(out, '\\', 'u', hexDigits[c>>12&15], hexDigits[c>>8&15], hexDigits[c>>4&15], hexDigits[c&15])
}

// appendJSON writes what is JSON already, in one line.
func appendJSON(out, text []byte) []byte {
	from := 0
	for i, c := range text {
		switch {
		case c == '<' || c == '>' || c == '&':
			out = escaped(append(out, text[from:i]...), rune(c))
			from = i + 1
		case c == 0xe2 && i+2 < len(text) && text[i+1] == 0x80 && text[i+2]&^1 == 0xa8:
			out = escaped(append(out, text[from:i]...), '\u2028'|rune(text[i+2]&1))
			from = i + 3
		}
	}
	return append(out, text[from:]...)
}
