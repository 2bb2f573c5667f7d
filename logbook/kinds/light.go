package kinds

import "evenwhite/logbook"

// The kinds of what gives light.
const (
	Lamp  logbook.Kind = "lamp"
	Light logbook.Kind = "light"
	Gel   logbook.Kind = "gel"
)

const (
	lampFamilies = "incandescent daylight whiteLed twoColorLed fullColorLed fluorescent discharge other"
	lightRoles   = "key fill back background practical ambient screen"
	Skies        = "sun thinCloud cloud shade dusk night inside"
	yesNoUnknown = "yes no unknown"
)

func tintDialMembers() []Field {
	return []Field{
		number("min", "units", "least setting", "-200", "200").Must(),
		number("max", "units", "greatest setting", "-200", "200").Must(),
		number("step", "units", "step of the dial", "0.01", "100").Must(),
		number("duvPerUnit", "Duv per unit", "what one unit does; absent: unknown", "0.000001", "0.02"),
		ChoiceField("plusIs", "what a greater value does in the picture (a camera) or to the light (a lamp)", "green magenta").Must(),
	}
}

var lampSpec = Spec{
	Kind:    Lamp,
	Doc:     "a lamp on the truck",
	Natural: []string{"name"},
	Fields: []Field{
		TextField("name", "what the crew calls it; no maker's name is needed", 80).Must(),
		WholeField("count", "how many there are", "1", "999").byDefault("1"),
		ChoiceField("family", "how it makes light", lampFamilies).Must(),
		form("kelvinDial", "its colour temperature dial",
			group("range", "a stepped range", number("min", "K", "least", "1000", "20000").Must(),
				number("max", "K", "greatest", "1000", "20000").Must(), number("step", "K", "step", "1", "5000").Must()),
			group("list", "fixed settings", list("values", "the settings", 64, number("", "K", "a setting", "1000", "20000")).Must())),
		group("greenMagentaDial", "its green–magenta dial", tintDialMembers()...),
		ChoiceField("dimsWarmer", "whether its light gets warmer when dimmed", yesNoUnknown).byDefault("unknown"),
		FlagField("hot", "too hot to touch when lit").byDefault("by family: incandescent and discharge are hot"),
	},
}

func lightStateFields(prefix, what string) []Field {
	return []Field{
		number(prefix+"/dialKelvin", "K", what+": kelvin on its dial", "1000", "20000"),
		number(prefix+"/dialGreenMagenta", "units of the dial", what+": green–magenta on its dial", "-200", "200"),
		number(prefix+"/levelPercent", "%", what+": level", "0", "100"),
		list(prefix+"/gels", what+": gels on it, at most two", 2, ReferenceField("", "a gel", Gel)),
		FlagField(prefix+"/on", what+": lit"),
	}
}

// chromaticityForms are the ways to say a colour by its values.
func chromaticityForms() []Field {
	return []Field{
		group("cctDuv", "correlated colour temperature and Duv",
			number("cctKelvin", "K", "CCT", "1000", "100000").Must().usual("1600", "20000"),
			number("duv", "Duv", "+ above the locus (green)", "-0.05", "0.05").Must()),
		group("xy", "CIE 1931 chromaticity", number("x", "", "x", "0.0001", "0.9999").Must(), number("y", "", "y", "0.0001", "0.9999").Must()),
		group("uvPrime", "CIE 1976 chromaticity", number("u", "", "u'", "0.0001", "0.9999").Must(), number("v", "", "v'", "0.0001", "0.9999").Must()),
	}
}

// sinceFields name the reading from which on a value of the same edit held: a lamp that was
// turned before anybody entered it.
func sinceFields() (all []Field) {
	for _, f := range lightStateFields("rigged", "") {
		all = append(all, ReferenceField("since/"+f.Name, "the reading from which on "+f.Name+" held, where it was entered later", Reading))
	}
	return all
}

var lightSpec = Spec{
	Kind:    Light,
	Doc:     "a lamp, window or practical in a set-up",
	Natural: []string{"setUp", "name"},
	Fields: append(append([]Field{
		ReferenceField("setUp", "the set-up it is part of", SetUp).Must(),
		TextField("name", "what it is called here", 80).Must(),
		ReferenceField("lamp", "the lamp on the truck; none for a window", Lamp),
		ChoiceField("role", "what it does", lightRoles).Must(),
		TextField("position", "where it stands", 120),
		ChoiceField("intent", "match it to the white, let it hold its own colour, or leave it", "match holdOwnColor leave").byDefault("by role: key, fill, back and background match, others are left"),
		form("targetColor", "the colour it is to hold", chromaticityForms()...),
		ChoiceField("sky", "the sky, where the light comes from it", Skies),
	}, lightStateFields("planned", "as planned")...), append(lightStateFields("rigged", "as rigged"), sinceFields()...)...),
}

var gelSpec = Spec{
	Kind:    Gel,
	Doc:     "a colour filter for lights",
	Natural: []string{"name"},
	Fields: []Field{
		TextField("name", "what it is called; the trade's name, no maker's", 80).Must(),
		ChoiceField("gelKind", "what it does", "warm cool green magenta neutral diffusion effect").Must(),
		number("shiftMired", "mired", "nominal shift, + warmer", "-400", "400"),
		group("cc", "green or magenta density",
			number("density", "CC (hundredths of density)", "its strength", "0", "60").Must(),
			ChoiceField("color", "its colour", "green magenta").Must()),
		form("transmission", "how much light passes",
			group("percent", "in percent", number("value", "%", "light that passes", "0.1", "100").Must()),
			group("stops", "in stops", number("value", "stops", "light that is lost", "0", "10").Must())),
		group("measuredShifts/*", "a shift measured on a lamp family: two readings of one lamp",
			ChoiceField("lampFamily", "the lamp's family", lampFamilies).Must(),
			ReferenceField("without", "the reading without the gel", Reading).Must(),
			ReferenceField("with", "the reading through the gel", Reading).Must()),
		TextField("form", "roll, sheet, cut …", 40),
		WholeField("quantity", "how many pieces are on the truck", "0", "9999"),
		ChoiceField("heatResistant", "rated for hot lamps", yesNoUnknown).byDefault("unknown"),
		FlagField("faded", "bleached by use").byDefault("false"),
	},
}
