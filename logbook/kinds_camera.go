package logbook

// The kinds of what records and measures.
const (
	KindBody   Kind = "body"
	KindCamera Kind = "camera"
	KindMeter  Kind = "meter"
)

const (
	whiteModes = "kelvin preset customFromCard auto autoHeld"
	encodings  = "sRGB bt1886 linear pq hlg acesCct power log other"
	primaries  = "bt709 bt2020 p3D65 acesAp0 acesAp1 camera other"
)

// gamma belongs to the encoding power.
var gamma = number("gamma", "", "the power from signal to linear light, of the encoding power", "1", "3")

var bodySpec = Spec{
	Kind:    KindBody,
	Doc:     "a camera body, by serial, with its dials",
	Natural: []string{"label"},
	Fields: []Field{
		text("label", "serial or sticker that tells this body apart", 80).required(),
		list("whiteModes", "the ways in which its white can be set", 5, choice("", "a way", whiteModes)).required(),
		list("kelvinRanges", "its kelvin settings as stepped ranges", 8, group("", "a range",
			number("min", "K", "least", "1000", "25000").required(), number("max", "K", "greatest", "1000", "25000").required(), number("step", "K", "step", "1", "5000").required())),
		list("kelvinValues", "its kelvin settings one by one", 256, number("", "K", "a setting", "1000", "25000")),
		group("presets/*", "a white preset",
			text("name", "its name on the body, in plain words", 40).required(), number("kelvin", "K", "its white", "1000", "25000").required(), number("duv", "Duv", "its white", "-0.05", "0.05")),
		group("tint", "its green–magenta dial", append(tintDialMembers(), choice("unitFrom", "where the unit's size comes from", "document samples guess"))...),
		list("tintPerKelvin", "the size of a tint unit at several kelvin, where it changes", 32, group("", "one point",
			number("kelvin", "K", "kelvin set", "1000", "25000").required(), number("duvPerUnit", "Duv per unit", "what one unit does there", "0.000001", "0.02").required())),
		group("amberBlue", "its amber–blue fine axis",
			number("min", "units", "least setting", "-200", "200").required(), number("max", "units", "greatest setting", "-200", "200").required(), number("step", "units", "step", "0.01", "100").required(),
			number("miredPerUnit", "mired per unit", "what one unit does", "0.01", "100").required(), choice("plusIs", "what a greater value does in the picture", "amber blue").required()),
		choice("tintZero", "the locus on which tint 0 lies", "blackBody daylight blend unknown").byDefault("unknown"),
		group("recordingModes/*", "a recording mode",
			text("name", "its name, in plain words", 80).required(), choice("white", "what happens to the white in the footage", "baked storedBeside free").required(),
			choice("encoding", "transfer", encodings), gamma, choice("primaries", "primaries", primaries), whole("bits", "bits per channel", "8", "16"), choice("range", "code value range", "full narrow")),
		list("clipNameRule", "the pieces of a clip name, in order", 12, form("", "a piece",
			group("fixed", "fixed text", text("text", "the text", 24).required()),
			group("card", "card counter", whole("digits", "digits", "1", "6").required(), whole("start", "first number", "0", "999999")),
			group("clip", "clip counter", whole("digits", "digits", "1", "6").required(), whole("start", "first number", "0", "999999"), choice("reset", "when it begins again", "newCard never daily").required(), whole("rollOver", "the last number before it begins again", "9", "999999")),
			group("date", "the shooting day's date", choice("pattern", "its form", "yyyymmdd yymmdd mmdd").required()),
			group("tail", "a tail that cannot be predicted: matched by what stands before it"))),
		choice("timecode", "how its timecode runs", "timeOfDay recordRun none").required(),
	},
}

var cameraSpec = Spec{
	Kind:    KindCamera,
	Doc:     "a camera letter on the set, which a body fills for a while",
	Natural: []string{"letter"},
	Fields: []Field{
		text("letter", "A, B … or a number", 3).required(),
		group("body", "the body that fills it, and since when", reference("body", "the body", KindBody).required(), instant("from", "since when")).required(),
		text("operator", "who operates it", 80),
		text("card", "the card that was put into it last; what a later clip says goes before it", 24),
		instant("newBatteryAt", "when its battery was last changed: its settings are to be read off again"),
	},
}

var meterSpec = Spec{
	Kind:    KindMeter,
	Doc:     "an instrument",
	Natural: []string{"name"},
	Fields: []Field{
		text("name", "what the crew calls it", 80).required(),
		choice("meterKind", "how it measures", "spectrometer threeSensor other").required(),
		text("serial", "its serial", 80),
		date("lastChecked", "when it was last checked or calibrated"),
		number("floorXY", "x, y", "how finely it can be trusted", "0.0001", "0.05").byDefault("0.002 for a spectrometer, else 0.004 (common practice, no source)"),
		choice("receptor", "what it gathers light with", "cosine dome spot").byDefault("cosine"),
	},
}
