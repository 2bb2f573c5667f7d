package glance

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
)

// headlineLength is how many characters a headline has at the most: one line of a phone. A
// choice of this program.
const headlineLength = 60

// headline says the whole set-up in one line: the worst that is off, else how the lights are
// and which to meter.
func (n *SetUpNow) headline() string {
	var open []*deviation.Deviation
	for i := range n.Deviations {
		if n.Deviations[i].Accepted == nil {
			open = append(open, &n.Deviations[i])
		}
	}
	fine, meter := n.lightsToMeter()
	if len(open) > 0 && (len(meter) == 0 || open[0].Kind != deviation.NoReading && open[0].Kind != deviation.ReadingStale) {
		return fitting(open[0].Headline, andMore(len(open)-1))
	}
	switch {
	case len(meter) == 0 && fine == 0:
		return "Nothing is off"
	case len(meter) == 0:
		return lights(fine) + " fine"
	}
	toMeter := figure.Counted(len(meter), "light") + " should be metered"
	if fine > 0 {
		toMeter = fmt.Sprintf("%s fine; %d should be metered", lights(fine), len(meter))
	}
	return fitting(toMeter, ": "+strings.Join(meter, ", "))
}

// lightsToMeter counts the lights inside their limits, and names those of which no reading
// says how they are now.
func (n *SetUpNow) lightsToMeter() (fine int, meter []string) {
	for _, l := range n.Lights {
		switch {
		case !l.On || l.Intent == "leave":
		case l.Color == nil || len(l.StaleBecause) > 0:
			meter = append(meter, l.Name)
		case l.Within != nil && *l.Within:
			fine++
		}
	}
	return fine, meter
}

func lights(n int) string {
	if n == 1 {
		return "1 light is"
	}
	return fmt.Sprintf("%d lights are", n)
}

func andMore(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("; %d more", n)
}

// fitting adds the rest where there is room.
func fitting(text, rest string) string {
	if utf8.RuneCountInString(text)+utf8.RuneCountInString(rest) <= headlineLength {
		return text + rest
	}
	return text
}
