package kinds

import "evenwhite/logbook"

// The kinds that are facts: never overwritten, only superseded or struck out.
const (
	Reading logbook.Kind = "reading"
	White   logbook.Kind = "white"
	Sample  logbook.Kind = "sample"
)

var struckOut = group("struckOut", "struck out, visibly", TextField("reason", "why", 500).Must())

func measuredForms() []Field {
	cct := number("cctKelvin", "K", "CCT", "1000", "100000").Must().usual("1600", "20000")
	share := func(name, what string) Field { return number(name, "", what, "0.0001", "0.9999").Must() }
	return []Field{
		group("cctDuv", "correlated colour temperature and Duv", cct, number("duv", "Duv", "+ above the locus (green)", "-0.05", "0.05").Must()),
		group("cctCc", "CCT and a CC value", cct,
			number("density", "CC (hundredths of density)", "its strength", "0", "60").Must(),
			ChoiceField("color", "its colour", "green magenta").Must(),
			ChoiceField("means", "whether the meter says what the light is, or which filter it needs: opposite signs",
				"lightIs filterNeeded").Must()),
		group("xy", "CIE 1931 chromaticity", share("x", "x"), share("y", "y")),
		group("uvPrime", "CIE 1976 chromaticity", share("u", "u'"), share("v", "v'")),
		group("uv", "CIE 1960 chromaticity", share("u", "u"), share("v", "v")),
		group("xyz", "tristimulus values; Y may stand for lux",
			number("x", "", "X", "0", "1000000").Must(), number("y", "", "Y", "0.000001", "1000000").Must(),
			number("z", "", "Z", "0", "1000000").Must()),
		group("spectrum", "spectral power by wavelength",
			list("wavelengthsNm", "rising wavelengths", 1024, number("", "nm", "a wavelength", "200", "2500")).Must(),
			list("values", "power at each, in any unit", 1024, number("", "", "a value", "0", "1e12")).Must()),
	}
}

var readingSpec = Spec{
	Kind: Reading,
	Doc:  "one measurement by a meter: a fact, superseded or struck out, never overwritten",
	Fields: []Field{
		ReferenceField("setUp", "the set-up it was made for", SetUp),
		form("measured", "what the meter said, as typed", measuredForms()...).Must().fact(),
		group("illuminance", "how much light", number("value", "lx or fc", "the value", "0", "200000").Must(), ChoiceField("unit", "its unit", "lux footCandle").Must()).fact(),
		group("reported", "what the instrument says of itself; shown as reported, computed nowhere",
			number("ra", "", "CIE Ra", "-100", "100"), number("r9", "", "CIE R9", "-300", "100"),
			number("rf", "", "Rf", "0", "100"), number("rg", "", "Rg", "0", "200"),
			number("tlci", "", "TLCI", "0", "100"), number("ssi", "", "SSI", "0", "100"),
			number("flickerPercent", "%", "flicker", "0", "100")).fact(),
		InstantField("takenAt", "when").Must().fact(),
		ReferenceField("meter", "the instrument", Meter).fact(),
		form("of", "what was measured",
			group("light", "one light", ReferenceField("light", "the light", Light).Must()),
			group("lights", "several lights together", list("lights", "the lights", 32, ReferenceField("", "a light", Light)).Must()),
			group("everything", "everything that is on"),
			group("screenPoint", "a point on a screen")).Must(),
		TextField("position", "where in the set", 120),
		TextField("facing", "which way the meter faced", 80),
		group("lightsAsSet/*", "how the light whose id is the key was set then",
			FlagField("on", "lit"), number("dialKelvin", "K", "kelvin on its dial", "1000", "20000"),
			number("dialGreenMagenta", "units of the dial", "green–magenta on its dial", "-200", "200"),
			number("levelPercent", "%", "level", "0", "100"), list("gels", "gels on it", 2, ReferenceField("", "a gel", Gel))).fact(),
		ReferenceField("throughGel", "the gel it was measured through", Gel).fact(),
		ChoiceField("sky", "the sky then", Skies),
		ChoiceField("purpose", "why", "first check match gelTest meterCompare").byDefault("first for the first of a light, then check"),
		ReferenceField("supersedes", "the reading that this one replaces", Reading).fact(),
		struckOut,
	},
}

var whiteSpec = Spec{
	Kind: White,
	Doc:  "what a set-up calls white: the rule and its inputs, a fact with a history",
	Fields: []Field{
		ReferenceField("setUp", "the set-up", SetUp).Must().fact(),
		form("from", "where it comes from",
			group("readings", "readings, weighted", list("readings", "the readings", 32,
				group("", "one", ReferenceField("reading", "the reading", Reading).Must(), number("weight", "", "its weight", "0.001", "1000")))),
			group("nominal", "a nominal white", number("kelvin", "K", "its temperature", "1000", "25000").Must(),
				number("duv", "Duv", "its distance from the locus named", "-0.05", "0.05"),
				ChoiceField("locus", "the locus it lies on", "blackBody daylight blend").Must()),
			group("mix", "the mix of all lights that are on", TextField("position", "where; empty: anywhere", 120)),
			group("compromise", "the white that leaves the least weighted casts", list("lights", "the lights", 32,
				group("", "one", ReferenceField("light", "the light", Light).Must(), number("weight", "", "its weight", "0.001", "1000")))),
			group("cameraSetting", "what a camera is set to", ReferenceField("camera", "the camera", Camera).Must(),
				number("kelvin", "K", "its kelvin", "1000", "25000").Must(), number("tint", "tint units of the body", "its tint", "-200", "200")),
			group("customFromCard", "a card shot by a camera", ReferenceField("sample", "the sample", Sample).Must()),
			group("sameAs", "the white of another set-up", ReferenceField("setUp", "that set-up", SetUp).Must())).Must().fact(),
		group("intendedCast", "how warm, cool, green or magenta the reference light is meant to look", castMembers()...).fact(),
		group("exceptions/*", "an intended cast of its own for the camera whose id is the key", castMembers()...).fact(),
		form("appliesFrom", "since when it applies",
			group("start", "from the set-up's start"),
			group("take", "from a take on", ReferenceField("take", "the take", Take).Must()),
			group("takeNumber", "from a take on that may not be logged yet", WholeField("number", "the take's number", "1", "999").Must()),
			group("time", "from a time on", InstantField("at", "the time").Must())).Must().fact(),
		TextField("decidedBy", "who decided", 80).fact(),
		ChoiceField("judgedOn", "what it was judged on", "meter monitor eye").fact(),
		ReferenceField("supersedes", "the white that this one replaces", White).fact(),
		list("settles", "other whites that this one replaces: those that were chosen apart", 32, ReferenceField("", "a white", White)).fact(),
		list("restsOn", "every record that its colour rests on; whoever makes the edit writes it", 256, group("", "one",
			ReferenceField("record", "a reading, a card or a white").Must(), number("weight", "", "its weight", "0", "1000000"))).fact(),
		struckOut,
	},
}

func settingMembers() []Field {
	return []Field{
		ChoiceField("whiteMode", "how the white is set", WhiteModes).Must(),
		number("kelvin", "K", "kelvin set", "1000", "25000"), number("tint", "tint units of the body", "tint set", "-200", "200"),
		number("amberBlue", "units of the body", "amber–blue set", "-200", "200"),
		TextField("preset", "preset set, a key of the body's presets", 64),
	}
}

var sampleSpec = Spec{
	Kind: Sample,
	Doc:  "R G B of a grey card in one camera's picture: a fact",
	Fields: []Field{
		ReferenceField("setUp", "the set-up it was shot in", SetUp),
		ReferenceField("clip", "the clip it was read from", Clip).fact(),
		ReferenceField("camera", "the camera", Camera).fact(),
		ReferenceField("body", "the body", Body).Must().fact(),
		form("rgb", "R, G and B of the patch, as typed",
			group("codeValues", "code values", number("r", "code", "red", "0", "65535").Must(),
				number("g", "code", "green", "0", "65535").Must(), number("b", "code", "blue", "0", "65535").Must(),
				WholeField("bits", "bits per channel", "8", "16").Must(), ChoiceField("range", "code value range", "full narrow").Must(),
				ChoiceField("encoding", "transfer", encodings).Must(), gamma, ChoiceField("primaries", "primaries", primaries).Must(), primariesXY),
			group("percent", "percent of full scale", number("r", "%", "red", "0", "110").Must(),
				number("g", "%", "green", "0", "110").Must(), number("b", "%", "blue", "0", "110").Must(),
				ChoiceField("encoding", "transfer", encodings).Must(), gamma, ChoiceField("primaries", "primaries", primaries).Must(),
				primariesXY)).Must().fact(),
		ChoiceField("readAt", "where it was read", "recordedFile cameraOutput monitorWithLook").fact(),
		ChoiceField("patch", "what was sampled", "grey white black paper").byDefault("grey").fact(),
		group("settings", "the camera's white at that time", settingMembers()...).Must().fact(),
		form("light", "the light on the card", group("reading", "measured", ReferenceField("reading", "the reading", Reading).Must()), group("notMeasured", "not measured")).fact(),
		InstantField("takenAt", "when").fact(),
		TextField("glass", "lens and filters", 120).fact(),
		TextField("recordingMode", "recording mode, a key of the body's recordingModes", 64).fact(),
		number("areaPixels", "px", "area of the patch", "1", "1000000000").fact(),
		number("spreadPercent", "%", "spread over the patch", "0", "100").fact(),
		number("clippedPercent", "%", "clipped part of the patch", "0", "100").fact(),
		struckOut,
	},
}
