package amend

import (
	_ "embed"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// alikeTable is what Unicode says of signs that are written of several, as far as people type
// them: "00E9 0065 0301" for a sign and what it is made of, "230 0300 0314" for marks from one
// to another, and in which order those stand behind their letter. A test makes it, of a library whose
// own tables would make the engine of a phone 45 kB larger.
//
//go:embed alike.txt
var alikeTable string

type signs struct {
	made  map[rune][]rune
	ranks []ranked
}

type ranked struct {
	first, last rune
	rank        int
}

var knownSigns = sync.OnceValue(func() signs {
	all := signs{made: map[rune][]rune{}}
	sign := func(text string) rune {
		n, _ := strconv.ParseUint(text, 16, 32)
		return rune(n)
	}
	for line := range strings.Lines(alikeTable) {
		switch words := strings.Fields(line); {
		case len(words[0]) == 3:
			rank, _ := strconv.Atoi(words[0])
			all.ranks = append(all.ranks, ranked{sign(words[1]), sign(words[2]), rank})
		default:
			for _, part := range words[1:] {
				all.made[sign(words[0])] = append(all.made[sign(words[0])], sign(part))
			}
		}
	}
	return all
})

func (all *signs) rank(c rune) int {
	at, _ := slices.BinarySearchFunc(all.ranks, c, func(r ranked, c rune) int { return int(r.last) - int(c) })
	if at < len(all.ranks) && all.ranks[at].first <= c {
		return all.ranks[at].rank
	}
	return 0
}

// apart appends a sign taken apart.
func (all *signs) apart(out []rune, c rune) []rune {
	const syllables, leads, vowels, tails = 0xac00, 0x1100, 0x1161, 0x11a7 // of Korean: by rule
	if n := c - syllables; n >= 0 && n < 19*21*28 {
		if out = append(out, leads+n/(21*28), vowels+n/28%21); n%28 > 0 {
			out = append(out, tails+n%28)
		}
		return out
	}
	parts, several := all.made[c]
	if !several {
		return append(out, c)
	}
	for _, part := range parts {
		out = all.apart(out, part)
	}
	return out
}

// alike writes alike what reads alike: one keyboard writes é as one sign, another as e and an
// accent.
func alike(text string) string {
	plain := true
	for i := range len(text) {
		plain = plain && text[i] < utf8.RuneSelf
	}
	if plain {
		return text
	}
	all := knownSigns()
	var out []rune
	for _, c := range text {
		out = all.apart(out, c)
	}
	for i := range out { // marks by their ranks, those of one rank as they came
		for rank := all.rank(out[i]); rank > 0 && i > 0 && all.rank(out[i-1]) > rank; i-- {
			out[i-1], out[i] = out[i], out[i-1]
		}
	}
	return string(out)
}
