package states

import (
	_ "embed"
	"strings"

	"evenwhite/logbook"
)

//go:embed words.txt
var wordsText string

var words = strings.Fields(wordsText)

const (
	wordBits  = 11 // of 2048 words
	wordCount = 6
)

// Words are six words of the digest: its first 66 bits, 11 a word.
func (s State) Words() string { return wordsOf(s.Digest) }

func wordsOf(digest logbook.Hash) string {
	said := make([]string, wordCount)
	for i := range said {
		at := 0
		for bit := i * wordBits; bit < (i+1)*wordBits; bit++ {
			at = at<<1 | int(digest[bit/8]>>(7-bit%8)&1)
		}
		said[i] = words[at]
	}
	return strings.Join(said, " ")
}
