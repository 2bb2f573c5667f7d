package main

import (
	"bytes"
	"testing"
)

// A field as a program has it: marks, the length of the name, the name, the length of the tag, the tag.
func TestTagsOfFieldsAreBlanked(t *testing.T) {
	const tag = `json:"light,omitempty"`
	field := "\x03\x05Light\x16" + tag
	for text, blanked := range map[string]bool{
		"\x00\x00" + field + "\x00\x00":               true,
		"\x01\x04Here" + field + "\x01\x05There":      true,
		"\x01\x05Light\x16" + tag:                     false, // marked as without a tag
		"\x03\x06Light\x16" + tag:                     false, // the name is not so long
		"\x03\x05Light\x17" + tag:                     false, // nor the tag
		"\x00 a text that says json:\"light\" itself": false,
	} {
		m := append(memory("\x00\x00\x00\x00"), text...)
		m.withoutTags()
		if got := !bytes.Contains(m, []byte("json:")); got != blanked || len(m) != len(text)+4 {
			t.Errorf("%q became %q, blanked: want %t", text, m, blanked)
		}
		if blanked && !bytes.Contains(m, []byte("\x03\x05Light\x16\x00")) {
			t.Errorf("of %q more than the tag was blanked: %q", text, m)
		}
	}
}
