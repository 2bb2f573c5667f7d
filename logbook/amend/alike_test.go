package amend

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"
)

var updateAlike = flag.Bool("update", false, "write alike.txt anew")

// ideograph reports whether a sign is one of those that were coded a second time, for the sake of
// other codes: no keyboard writes them.
func ideograph(c rune) bool { return c >= 0xf900 && c < 0xfb00 || c >= 0x2f800 && c < 0x2fa20 }

func syllable(c rune) bool { return c >= 0xac00 && c < 0xd7a4 }

// tableByLibrary is what a library says of each sign.
func tableByLibrary() string {
	var made, ranks strings.Builder
	first, last, rank := rune(-1), rune(-1), uint8(0)
	end := func() {
		if rank > 0 {
			fmt.Fprintf(&ranks, "%03d %04X %04X\n", rank, first, last)
		}
	}
	for c := range rune(0x110000) {
		p := norm.NFD.PropertiesString(string(c))
		if d := p.Decomposition(); d != nil && !syllable(c) && !ideograph(c) {
			fmt.Fprintf(&made, "%04X", c)
			for _, part := range string(d) {
				fmt.Fprintf(&made, " %04X", part)
			}
			made.WriteByte('\n')
		}
		if p.CCC() != rank || p.Decomposition() != nil {
			end()
			if first, rank = c, p.CCC(); p.Decomposition() != nil {
				rank = 0
			}
		}
		last = c
	}
	end()
	return made.String() + ranks.String()
}

func TestTheTableOfSignsIsThatOfALibrary(t *testing.T) {
	want := tableByLibrary()
	if *updateAlike {
		if err := os.WriteFile("alike.txt", []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if alikeTable != want {
		t.Error("alike.txt is not what the library says: write it anew with go test ./logbook/amend -run Signs -update, and look at it")
	}
}

func TestTextsAreAlikeWhereALibraryFindsThemEqual(t *testing.T) {
	var several, marks []rune
	for c := range rune(0x110000) {
		if ideograph(c) || c >= 0xd800 && c < 0xe000 {
			continue
		}
		p := norm.NFD.PropertiesString(string(c))
		if p.Decomposition() != nil {
			several = append(several, c)
		}
		if p.CCC() > 0 {
			marks = append(marks, c)
		}
		if one, other := alike(string(c)), alike(norm.NFD.String(string(c))); one != other {
			t.Fatalf("%U reads %+q, taken apart %+q", c, one, other)
		}
	}
	chance := rand.New(rand.NewPCG(11, 11))
	equal := 0
	for range 20000 {
		draw := func() (text string) {
			for range 1 + chance.IntN(2) {
				text += string([]rune{several[chance.IntN(len(several))], 'e', 'a', 0xac01, 0x1100, 0x1161}[chance.IntN(6)])
				for range chance.IntN(3) {
					text += string(append(marks, 0x301, 0x323)[max(0, len(marks)-chance.IntN(40)+1)])
				}
			}
			return text
		}
		a, b := draw(), draw()
		if chance.IntN(2) == 0 {
			b = []func(string) string{norm.NFC.String, norm.NFD.String}[chance.IntN(2)](a)
		}
		same := norm.NFC.String(a) == norm.NFC.String(b)
		if (alike(a) == alike(b)) != same {
			t.Fatalf("%+q and %+q read %+q and %+q; the library finds them equal: %v", a, b, alike(a), alike(b), same)
		}
		if same && a != b {
			equal++
		}
	}
	if equal < 1000 {
		t.Errorf("only %d pairs were equal and written otherwise", equal)
	}
}
