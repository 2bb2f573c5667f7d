package logbook

// The kinds that are facts: never overwritten, only superseded or struck out.
const (
	KindReading Kind = "reading"
	KindWhite   Kind = "white"
	KindSample  Kind = "sample"
)

var struckOut = group("struckOut", "struck out, visibly", text("reason", "why", 500).required())

func measuredForms() []Field {
	cct := number("cctKelvin", "K", "CCT", "1000", "100000").required().usual("1600", "20000")
	share := func(name, what string) Field { return number(name, "", what, "0.0001", "0.9999").required() }
	return []Field{
		group("cctDuv", "correlated colour temperature and Duv", cct, number("duv", "Duv", "+ above the locus (green)", "-0.05", "0.05").required()),
		group("cctCc", "CCT and a CC value", cct,
			number("density", "CC (hundredths of density)", "its strength", "0", "60").required(), choice("color", "its colour", "green magenta").required(),
			choice("means", "whether the meter says what the light is, or which filter it needs: opposite signs", "lightIs filterNeeded").required()),
		group("xy", "CIE 1931 chromaticity", share("x", "x"), share("y", "y")),
		group("uvPrime", "CIE 1976 chromaticity", share("u", "u'"), share("v", "v'")),
		group("uv", "CIE 1960 chromaticity", share("u", "u"), share("v", "v")),
		group("xyz", "tristimulus values; Y may stand for lux",
			number("x", "", "X", "0", "1000000").required(), number("y", "", "Y", "0.000001", "1000000").required(), number("z", "", "Z", "0", "1000000").required()),
		group("spectrum", "spectral power by wavelength",
			list("wavelengthsNm", "rising wavelengths", 1024, number("", "nm", "a wavelength", "200", "2500")).required(),
			list("values", "power at each, in any unit", 1024, number("", "", "a value", "0", "1e12")).required()),
	}
}

var readingSpec = Spec{
	Kind: KindReading,
	Doc:  "one measurement by a meter: a fact, superseded or struck out, never overwritten",
	Fields: []Field{
		reference("setUp", "the set-up it was made for", KindSetUp),
		form("measured", "what the meter said, as typed", measuredForms()...).required().fact(),
		group("illuminance", "how much light", number("value", "lx or fc", "the value", "0", "200000").required(), choice("unit", "its unit", "lux footCandle").required()).fact(),
		group("reported", "what the instrument says of itself; shown as reported, computed nowhere",
			number("ra", "", "CIE Ra", "-100", "100"), number("r9", "", "CIE R9", "-300", "100"), number("rf", "", "Rf", "0", "100"), number("rg", "", "Rg", "0", "200"),
			number("tlci", "", "TLCI", "0", "100"), number("ssi", "", "SSI", "0", "100"), number("flickerPercent", "%", "flicker", "0", "100")).fact(),
		instant("takenAt", "when").required().fact(),
		reference("meter", "the instrument", KindMeter).fact(),
		form("of", "what was measured",
			group("light", "one light", reference("light", "the light", KindLight).required()),
			group("lights", "several lights together", list("lights", "the lights", 32, reference("", "a light", KindLight)).required()),
			group("everything", "everything that is on"),
			group("screenPoint", "a point on a screen")).required(),
		text("position", "where in the set", 120),
		text("facing", "which way the meter faced", 80),
		group("lightsAsSet/*", "how the light whose id is the key was set then",
			flag("on", "lit"), number("dialKelvin", "K", "kelvin on its dial", "1000", "20000"), number("dialGreenMagenta", "units of the dial", "green–magenta on its dial", "-200", "200"),
			number("levelPercent", "%", "level", "0", "100"), list("gels", "gels on it", 2, reference("", "a gel", KindGel))).fact(),
		reference("throughGel", "the gel it was measured through", KindGel).fact(),
		choice("sky", "the sky then", skies),
		choice("purpose", "why", "first check match gelTest meterCompare").byDefault("first for the first of a light, then check"),
		reference("supersedes", "the reading that this one replaces", KindReading).fact(),
		struckOut,
	},
}

var whiteSpec = Spec{
	Kind: KindWhite,
	Doc:  "what a set-up calls white: the rule and its inputs, a fact with a history",
	Fields: []Field{
		reference("setUp", "the set-up", KindSetUp).required().fact(),
		form("from", "where it comes from",
			group("readings", "readings, weighted", list("readings", "the readings", 32, group("", "one", reference("reading", "the reading", KindReading).required(), number("weight", "", "its weight", "0.001", "1000")))),
			group("nominal", "a nominal white", number("kelvin", "K", "its temperature", "1000", "25000").required(), number("duv", "Duv", "its distance from the locus named", "-0.05", "0.05"), choice("locus", "the locus it lies on", "blackBody daylight blend").required()),
			group("mix", "the mix of all lights that are on", text("position", "where; empty: anywhere", 120)),
			group("compromise", "the white that leaves the least weighted casts", list("lights", "the lights", 32, group("", "one", reference("light", "the light", KindLight).required(), number("weight", "", "its weight", "0.001", "1000")))),
			group("cameraSetting", "what a camera is set to", reference("camera", "the camera", KindCamera).required(), number("kelvin", "K", "its kelvin", "1000", "25000").required(), number("tint", "tint units of the body", "its tint", "-200", "200")),
			group("customFromCard", "a card shot by a camera", reference("sample", "the sample", KindSample).required()),
			group("sameAs", "the white of another set-up", reference("setUp", "that set-up", KindSetUp).required())).required().fact(),
		group("intendedCast", "how warm, cool, green or magenta the reference light is meant to look", castMembers()...).fact(),
		group("exceptions/*", "an intended cast of its own for the camera whose id is the key", castMembers()...).fact(),
		form("appliesFrom", "since when it applies",
			group("start", "from the set-up's start"),
			group("take", "from a take on", reference("take", "the take", KindTake).required()),
			group("time", "from a time on", instant("at", "the time").required())).required().fact(),
		text("decidedBy", "who decided", 80).fact(),
		choice("judgedOn", "what it was judged on", "meter monitor eye").fact(),
		reference("supersedes", "the white that this one replaces", KindWhite).fact(),
		struckOut,
	},
}

func settingMembers() []Field {
	return []Field{
		choice("whiteMode", "how the white is set", whiteModes).required(),
		number("kelvin", "K", "kelvin set", "1000", "25000"), number("tint", "tint units of the body", "tint set", "-200", "200"),
		number("amberBlue", "units of the body", "amber–blue set", "-200", "200"), text("preset", "preset set, a key of the body's presets", 64),
	}
}

var sampleSpec = Spec{
	Kind: KindSample,
	Doc:  "R G B of a grey card in one camera's picture: a fact",
	Fields: []Field{
		reference("setUp", "the set-up it was shot in", KindSetUp),
		reference("clip", "the clip it was read from", KindClip).fact(),
		reference("camera", "the camera", KindCamera).fact(),
		reference("body", "the body", KindBody).required().fact(),
		form("rgb", "R, G and B of the patch, as typed",
			group("codeValues", "code values", number("r", "code", "red", "0", "65535").required(), number("g", "code", "green", "0", "65535").required(), number("b", "code", "blue", "0", "65535").required(),
				whole("bits", "bits per channel", "8", "16").required(), choice("range", "code value range", "full narrow").required(), choice("encoding", "transfer", encodings).required(), gamma, choice("primaries", "primaries", primaries).required()),
			group("percent", "percent of full scale", number("r", "%", "red", "0", "110").required(), number("g", "%", "green", "0", "110").required(), number("b", "%", "blue", "0", "110").required(),
				choice("encoding", "transfer", encodings).required(), gamma, choice("primaries", "primaries", primaries).required())).required().fact(),
		choice("readAt", "where it was read", "recordedFile cameraOutput monitorWithLook").fact(),
		choice("patch", "what was sampled", "grey white black paper").byDefault("grey").fact(),
		group("settings", "the camera's white at that time", settingMembers()...).required().fact(),
		form("light", "the light on the card", group("reading", "measured", reference("reading", "the reading", KindReading).required()), group("notMeasured", "not measured")).fact(),
		instant("takenAt", "when").fact(),
		text("glass", "lens and filters", 120).fact(),
		text("recordingMode", "recording mode, a key of the body's recordingModes", 64).fact(),
		number("areaPixels", "px", "area of the patch", "1", "1000000000").fact(),
		number("spreadPercent", "%", "spread over the patch", "0", "100").fact(),
		number("clippedPercent", "%", "clipped part of the patch", "0", "100").fact(),
		struckOut,
	},
}
