package colour

import (
	"fmt"
	"math"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/server/command"
)

// Plus or minus: common practice, no source. Real green and magenta gels keep to
// the model of CC within this part of what it says.
const ccUncertain = 0.3

const (
	checkWithMeter = "check with the meter"
	gelCaution     = "Hot lamps: let the lamp cool before you touch it or its gel, wear gloves, use only gel\n" +
		"rated for heat, off the lens and the vents. Local rules, the maker's instructions and\n" +
		"the person responsible on set come before this advice."
)

// A chosen gel is one by its trade name, or the numbers that were typed: then its
// loss is not known.
type chosenGel struct {
	name      string
	shift, cc number
	loss      colorimetry.Stops
}

func (g chosenGel) nominal() bool { return g.name != "" }

func readFamily(word string) (colorimetry.GelFamily, error) {
	switch word {
	case "", "5500":
		return colorimetry.Based5500, nil
	case "6500":
		return colorimetry.Based6500, nil
	}
	return 0, command.Misuse("colour", "-family is %q; allowed: 5500, 6500", word)
}

func readGel(word string, family colorimetry.GelFamily) (chosenGel, error) {
	if word != "" && strings.ContainsRune("+-.0123456789", rune(word[0])) {
		n, err := readPair("SHIFT", "CC", word)
		if err != nil {
			return chosenGel{}, err
		}
		return chosenGel{shift: n[0], cc: n[1]}, nil
	}
	wanted := strings.ReplaceAll(word, "-", " ")
	gels, err := colorimetry.NominalGels(family)
	if err != nil {
		return chosenGel{}, err
	}
	var names []string
	for _, g := range gels {
		if strings.EqualFold(g.Name, wanted) {
			// Printed to whole mired; what CC leaves open is ccUncertain.
			return chosenGel{g.Name, number{float64(g.Gel.Shift), 0.5}, number{g.Gel.CC, 0}, g.Gel.Loss}, nil
		}
		names = append(names, g.Name)
	}
	return chosenGel{}, command.Misuse("colour",
		"%q is no gel of this family; allowed, in quotes or with - for blanks: %s; or SHIFT or SHIFT,CC",
		word, strings.Join(nearest(wanted, names), ", "))
}

// nearest are the names that share a word with what was typed, else all.
func nearest(typed string, names []string) []string {
	var near []string
	for _, name := range names {
		for _, part := range strings.Fields(typed) {
			if strings.Contains(" "+strings.ToLower(name)+" ", " "+strings.ToLower(part)+" ") {
				near = append(near, name)
				break
			}
		}
	}
	if near == nil {
		return names
	}
	return near
}

func askGel(a asked) (answer, error) {
	family, err := readFamily(a.family)
	if err != nil {
		return answer{}, err
	}
	in, err := readLight(a.words[0])
	if err != nil {
		return answer{}, err
	}
	var gels []chosenGel
	for _, word := range a.words[1:] {
		g, err := readGel(word, family)
		if err != nil {
			return answer{}, err
		}
		gels = append(gels, g)
		in = append(in, g.shift, g.cc)
	}
	e, err := carried(in, throughGels)
	if err != nil {
		return answer{}, err
	}
	for _, g := range gels {
		duv, err := colorimetry.CCToDuv(g.cc.value, colorimetry.CCTDuv{CCT: colorimetry.Kelvin(e[0].value)})
		if err != nil {
			return answer{}, err
		}
		e[1].spread += ccUncertain * math.Abs(float64(duv))
	}
	return gelAnswer(e, gels), nil
}

// throughGels is a light behind gels of two values each: mired and CC.
func throughGels(v []float64) ([]float64, error) {
	l, err := checkedLight(v)
	if err != nil {
		return nil, err
	}
	var stack []colorimetry.Gel
	for i := 2; i < len(v); i += 2 {
		stack = append(stack, colorimetry.Gel{Shift: colorimetry.Mired(v[i]), CC: v[i+1]})
	}
	out, err := colorimetry.Through(l, colorimetry.Stack(stack...))
	return light(out), err
}

func gelAnswer(e []estimate, gels []chosenGel) answer {
	members := lightMembers(e)
	var list []map[string]any
	lines := []string{""}
	nominal, known, loss := false, true, 0.0
	for _, g := range gels {
		m := map[string]any{"shiftMired": g.shift.value, "cc": g.cc.value, "nominal": g.nominal()}
		if g.nominal() {
			m["name"], m["lossStops"] = g.name, float64(g.loss)
			loss += float64(g.loss)
			lines = append(lines, fmt.Sprintf("    %s: %+g mired, CC %+g, %.1f stops (nominal)", g.name, g.shift.value, g.cc.value, float64(g.loss)))
		} else {
			lines = append(lines, fmt.Sprintf("    as typed: %+g mired, CC %+g, loss not known", g.shift.value, g.cc.value))
		}
		nominal, known = nominal || g.nominal(), known && g.nominal()
		list = append(list, m)
	}
	lost := "loss not known"
	members["lossStops"] = nil
	if known {
		loss = roundTo(loss, 1) // the sum of losses of one decimal each
		lost, members["lossStops"] = fmt.Sprintf("loss %.1f stops", loss), loss
	}
	lines[0] = lightText(e) + ", " + lost
	advice := "A gel shifts each kind of lamp by another amount: " + checkWithMeter + "."
	if nominal {
		advice = "Nominal values, common practice, not measured: " + checkWithMeter + "."
	}
	members["gels"], members["nominal"] = list, nominal
	members["advice"], members["caution"] = checkWithMeter, strings.ReplaceAll(gelCaution, "\n", " ")
	return answer{strings.Join(append(lines, advice, gelCaution), "\n"), members}
}
