package deviation

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// How long a headline is at the most, in characters, and what its maker may use where takes
// follow: it fits on one line of a phone. A choice of this program.
const (
	headlineLength = 60
	headlineRoom   = 40
)

// headline is what a finding says first, with the takes that it is about where there is room
// for them: never half a word.
func (s *Finder) headline(f *Finding, takes []logbook.View, clips int) string {
	text := f.Headline
	if text == "" {
		text = cut(f.Words, headlineRoom)
	}
	if first, size := utf8.DecodeRuneInString(text); unicode.IsLower(first) {
		text = string(unicode.ToUpper(first)) + text[size:]
	}
	for _, where := range s.wheres(takes, clips) {
		if utf8.RuneCountInString(text)+utf8.RuneCountInString(where) <= headlineLength {
			return text + where
		}
	}
	return cut(text, headlineLength)
}

// wheres are the ways to say in which takes, the fullest first.
func (s *Finder) wheres(takes []logbook.View, clips int) []string {
	labels := lighting.TakeLabels(takes)
	switch {
	case len(labels) == 0 && clips > 0:
		return []string{", " + figure.Counted(clips, "clip")}
	case len(labels) == 0:
		return nil
	case len(labels) == 1:
		return []string{", " + lighting.TakeNames(takes)}
	}
	short := ", " + figure.Counted(len(labels), "take")
	all := lighting.TakeLabels(slices.DeleteFunc(slices.Clone(s.Takes()), func(take logbook.View) bool { return !lighting.IsTake(take) }))
	if from := len(all) - len(labels); from > 0 && slices.Equal(all[from:], labels) {
		return []string{fmt.Sprintf(" since take %s", labels[0]), short}
	}
	return []string{", " + lighting.TakeNames(takes), short}
}

// cut shortens words to a length, between two words where there are two.
func cut(text string, length int) string {
	if utf8.RuneCountInString(text) <= length {
		return text
	}
	short := string([]rune(text)[:length-1])
	if i := strings.LastIndexByte(short, ' '); i > 0 && []rune(text)[length-1] != ' ' {
		short = short[:i]
	}
	return strings.TrimRight(short, " ,;:(–") + "…"
}

// about writes words around a name that people typed, which is cut where it is long.
func about(room int, before, name, after string) string {
	room -= utf8.RuneCountInString(before) + utf8.RuneCountInString(after)
	return before + cut(name, max(room, 12)) + after
}
