package glance

import (
	"strings"
	"unicode/utf8"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// mostHeadline is how long a headline is at most: a choice of this program.
const mostHeadline = 60

// headline says what is off, else that nothing is: the fullest words that are short enough.
func (l *SetUpPlane) headline() string {
	var each, ways []string
	byWay := map[string][]string{}
	lights, cameras, judged := 0, 0, 0
	for _, at := range l.Points {
		if at.Within != nil {
			judged++
		}
		if at.Too == "" {
			continue
		}
		name := at.Name
		if at.Mark == "camera" {
			name = at.Key
			cameras++
		} else {
			lights++
		}
		each = append(each, name+" "+at.Too)
		way := at.Way()
		if byWay[way] == nil {
			ways = append(ways, way)
		}
		byWay[way] = append(byWay[way], name)
	}
	switch {
	case judged == 0:
		return "nothing is judged here yet"
	case len(each) == 0:
		return "all that is judged is inside its limits"
	}
	for i, way := range ways {
		ways[i] = strings.Join(byWay[way], ", ") + " " + way
	}
	for _, parts := range [][]string{each, ways} {
		if words := strings.Join(parts, "; "); utf8.RuneCountInString(words) <= mostHeadline {
			return words
		}
	}
	var counts []string
	if lights > 0 {
		counts = append(counts, figure.Counted(lights, "light"))
	}
	if cameras > 0 {
		counts = append(counts, figure.Counted(cameras, "camera"))
	}
	return strings.Join(counts, " and ") + " outside the limits"
}

// Way is Too without how much: "too warm".
func (at PlanePoint) Way() string {
	if _, way, counted := strings.Cut(at.Too, " mired "); counted {
		return way
	}
	return at.Too
}

// oldReading is a light whose reading is older than the production wants.
type oldReading struct{ name, age string }

// oldWords says once for all lights which readings are old; "" where none is.
func (l *SetUpPlane) oldWords() string {
	lights, alike := 0, true
	for _, at := range l.Points {
		if at.Mark == "light" {
			lights++
		}
	}
	var names []string
	for _, o := range l.old {
		alike = alike && o.age == l.old[0].age
		names = append(names, o.name+" ("+o.age+")")
	}
	switch {
	case len(names) == 0:
		return ""
	case alike && len(names) == lights && lights > 1:
		return "all readings are " + l.old[0].age + " old: meter again"
	}
	return "old readings: " + strings.Join(names, ", ") + ": meter again"
}

// sentence says what the plane shows.
func (l *SetUpPlane) sentence(p *setup.Period) string {
	lights, cameras := 0, 0
	for _, at := range l.Points {
		switch at.Mark {
		case "light":
			lights++
		case "camera":
			cameras++
		}
	}
	words := "no white is known"
	if p.Reference != nil {
		words = "white " + p.Reference.Words
	}
	words = l.Headline + "; " + words + "; " + figure.Counted(lights, "light") + " and " + figure.Counted(cameras, "camera")
	if l.Old != "" {
		words += "; " + l.Old
	}
	return words
}
