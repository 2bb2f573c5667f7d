package review

import (
	"testing"

	"evenwhite/logbook"
)

func FuzzPlace(f *testing.F) {
	f.Add(placeText(logbook.Place{Made: 1930372200000, ID: logbook.ID{6: 0x70, 8: 0x80, 15: 7}}))
	f.Add("MTkzMCA")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := readPlace(&text)
		if err != nil {
			return
		}
		written := placeText(p)
		again, err := readPlace(&written)
		if err != nil || again != p {
			t.Errorf("%q reads as %+v, which reads back as %+v (%v)", text, p, again, err)
		}
	})
}
