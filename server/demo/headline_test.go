package demo

import (
	"testing"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Whatever is found in the demo's set-ups, at any of their takes, is said in one line.
func TestEveryFindingOfTheDemoHasAHeadline(t *testing.T) {
	demoLog(t).Read(func(b *logbook.Book) {
		said := 0
		say := func(kind, headline string) {
			said++
			if n := utf8.RuneCountInString(headline); n < 1 || n > 60 {
				t.Errorf("%s: the headline %q has %d characters, want 1 to 60", kind, headline, n)
			}
		}
		for _, setUp := range b.Records(kinds.SetUp) {
			for _, take := range b.Referring(kinds.Take, "setUp", setUp.ID) {
				now, err := glance.Now(b, setUp.ID, lighting.TakeTime(b, take))
				if err != nil {
					t.Fatal(err)
				}
				say("now", now.Headline)
				for _, d := range now.Deviations {
					say(d.Kind, d.Headline)
					for _, also := range d.Also {
						say(also.Kind, also.Headline)
					}
				}
			}
		}
		for _, d := range deviation.Of(b, deviation.Scope{}, localMillis(t, "2026-03-08", "12:00")) {
			say(d.Kind, d.Headline)
		}
		if said < 50 {
			t.Errorf("only %d headlines were looked at", said)
		}
	})
}
