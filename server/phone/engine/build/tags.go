package main

import "bytes"

// withoutTags blanks the tags of struct fields, which say how encoding/json writes them: nothing in
// an engine asks for them (logbook/answers). A tag stands behind the name of its field, each behind its
// length, and a byte of marks before both.
func (m memory) withoutTags() {
	const hasTag, marks = 2, 15
	begin := []byte(`json:"`)
	for at := 0; ; at += len(begin) {
		next := bytes.Index(m[at:], begin)
		if next < 0 {
			return
		}
		at += next
		size := int(m[max(at-1, 0)])
		if size >= 0x80 || size <= len(begin) || at+size > len(m) || m[at+size-1] != '"' {
			continue
		}
		for name := 1; name < min(0x80, at-2); name++ {
			if before := at - 2 - name; m[before] == byte(name) && m[before-1]&hasTag != 0 && m[before-1]&^marks == 0 {
				clear(m[at : at+size])
				break
			}
		}
	}
}
