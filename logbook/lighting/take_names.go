package lighting

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// IsTake reports whether a take is footage that is judged: charts, tests and false starts
// have numbers too, and are none.
func IsTake(take logbook.View) bool {
	kind := take.Text("takeKind")
	return take.Known() && (kind == "" || kind == "take") && take.Text("state") != "falseStart"
}

// A TakeLabel is what a slate says of a take. Two records with one label read as one take.
type TakeLabel struct {
	number float64
	suffix string
}

func LabelOf(take logbook.View) TakeLabel {
	number, ok := take.Number("number")
	if !ok {
		number = math.Inf(1)
	}
	return TakeLabel{number, take.Text("suffix")}
}

func (l TakeLabel) String() string {
	if math.IsInf(l.number, 1) {
		return "without a number" + l.suffix
	}
	return strconv.FormatFloat(l.number, 'f', -1, 64) + l.suffix
}

func (l TakeLabel) compare(o TakeLabel) int {
	return cmp.Or(cmp.Compare(l.number, o.number), cmp.Compare(l.suffix, o.suffix))
}

// next reports whether a label follows on another: 4 on 3.
func (l TakeLabel) next(before TakeLabel) bool {
	return l.suffix == "" && before.suffix == "" && l.number == before.number+1
}

// TakeLabels are the labels of takes, each once, in the order of a slate.
func TakeLabels(takes []logbook.View) []TakeLabel {
	var labels []TakeLabel
	for _, take := range takes {
		labels = append(labels, LabelOf(take))
	}
	sort.Slice(labels, func(i, j int) bool { return labels[i].compare(labels[j]) < 0 })
	return slices.Compact(labels)
}

// TakeNames names takes: "take 3", "takes 1–3 and 5". Two records of one number are named
// once. None are "".
func TakeNames(takes []logbook.View) string {
	labels := TakeLabels(takes)
	if len(labels) == 0 {
		return ""
	}
	word := "takes "
	if len(labels) == 1 {
		word = "take "
	}
	var parts []string
	for i := 0; i < len(labels); {
		last := i
		for last+1 < len(labels) && labels[last+1].next(labels[last]) {
			last++
		}
		if last-i < 2 { // of two, both are named
			parts, i = append(parts, labels[i].String()), i+1
			continue
		}
		parts, i = append(parts, labels[i].String()+"–"+labels[last].String()), last+1
	}
	return word + Listed(parts)
}

// Listed joins words as people do: "1, 2 and 5".
func Listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
