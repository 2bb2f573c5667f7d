package kinds

import "evenwhite/logbook"

// The kinds of what records and measures.
const (
	Body   logbook.Kind = "body"
	Camera logbook.Kind = "camera"
	Meter  logbook.Kind = "meter"
)

const (
	WhiteModes = "kelvin preset customFromCard auto autoHeld"
	encodings  = "sRGB bt1886 linear pq hlg acesCct power log other"
	primaries  = "bt709 bt2020 p3D65 acesAp0 acesAp1 camera other"
)

// gamma belongs to the encoding power.
var gamma = number("gamma", "", "the power from signal to linear light, of the encoding power", "1", "3")

// primariesXY are for a gamut that has no name here.
var primariesXY = group("primariesXY", "the primaries and the white as typed, CIE 1931 x y; they go before a name",
	corner("redX", "red x"), corner("redY", "red y"), corner("greenX", "green x"), corner("greenY", "green y"),
	corner("blueX", "blue x"), corner("blueY", "blue y"),
	number("whiteX", "", "white x", "0.1", "0.8").Must(), number("whiteY", "", "white y", "0.1", "0.8").Must())

// corner is a coordinate of a primary, which may lie outside of all colours.
func corner(name, what string) Field { return number(name, "", what, "-1", "2").Must() }

var bodySpec = Spec{
	Kind:    Body,
	Doc:     "a camera body, by serial, with its dials",
	Natural: []string{"label"},
	Fields: []Field{
		TextField("label", "serial or sticker that tells this body apart", 80).Must(),
		list("whiteModes", "the ways in which its white can be set", 5, ChoiceField("", "a way", WhiteModes)).Must(),
		list("kelvinRanges", "its kelvin settings as stepped ranges", 8, group("", "a range",
			number("min", "K", "least", "1000", "25000").Must(),
			number("max", "K", "greatest", "1000", "25000").Must(), number("step", "K", "step", "1", "5000").Must())),
		list("kelvinValues", "its kelvin settings one by one", 256, number("", "K", "a setting", "1000", "25000")),
		group("presets/*", "a white preset",
			TextField("name", "its name on the body, in plain words", 40).Must(),
			number("kelvin", "K", "its white", "1000", "25000").Must(), number("duv", "Duv", "its white", "-0.05", "0.05")),
		group("tint", "its green–magenta dial", append(tintDialMembers(), ChoiceField("unitFrom", "where the unit's size comes from", "document samples guess"))...),
		list("tintPerKelvin", "the size of a tint unit at several kelvin, where it changes", 32, group("", "one point",
			number("kelvin", "K", "kelvin set", "1000", "25000").Must(),
			number("duvPerUnit", "Duv per unit", "what one unit does there", "0.000001", "0.02").Must())),
		group("amberBlue", "its amber–blue fine axis",
			number("min", "units", "least setting", "-200", "200").Must(),
			number("max", "units", "greatest setting", "-200", "200").Must(), number("step", "units", "step", "0.01", "100").Must(),
			number("miredPerUnit", "mired per unit", "what one unit does", "0.01", "100").Must(),
			ChoiceField("plusIs", "what a greater value does in the picture", "amber blue").Must()),
		ChoiceField("tintZero", "the locus on which tint 0 lies", "blackBody daylight blend unknown").byDefault("unknown"),
		group("recordingModes/*", "a recording mode",
			TextField("name", "its name, in plain words", 80).Must(),
			ChoiceField("white", "what happens to the white in the footage", "baked storedBeside free").Must(),
			ChoiceField("encoding", "transfer", encodings), gamma, ChoiceField("primaries", "primaries", primaries), primariesXY,
			number("stopCodes", "code", "what one stop is in the code values of its log curve, at its bits and range", "1", "16000"),
			WholeField("bits", "bits per channel", "8", "16"), ChoiceField("range", "code value range", "full narrow")),
		list("clipNameRule", "the pieces of a clip name, in order", 12, form("", "a piece",
			group("fixed", "fixed text", TextField("text", "the text", 24).Must()),
			group("card", "card counter", WholeField("digits", "digits", "1", "6").Must(), WholeField("start", "first number", "0", "999999")),
			group("clip", "clip counter", WholeField("digits", "digits", "1", "6").Must(), WholeField("start", "first number", "0", "999999"),
				ChoiceField("reset", "when it begins again", "newCard never daily").Must(),
				WholeField("rollOver", "the last number before it begins again", "9", "999999")),
			group("date", "the shooting day's date", ChoiceField("pattern", "its form", "yyyymmdd yymmdd mmdd").Must()),
			group("tail", "a tail that cannot be predicted: matched by what stands before it"))),
		ChoiceField("timecode", "how its timecode runs", "timeOfDay recordRun none").Must(),
	},
}

var cameraSpec = Spec{
	Kind:    Camera,
	Doc:     "a camera letter on the set, which a body fills for a while",
	Natural: []string{"letter"},
	Fields: []Field{
		TextField("letter", "A, B … or a number", 3).Must(),
		group("body", "the body that fills it, and since when", ReferenceField("body", "the body", Body).Must(), InstantField("from", "since when")).Must(),
		TextField("operator", "who operates it", 80),
		TextField("card", "the card that was put into it last; what a later clip says goes before it", 24),
		InstantField("newBatteryAt", "when its battery was last changed: its settings are to be read off again"),
		group("set", "how its white was set when somebody dialled it or read it off between clips: the next clip has it",
			append([]Field{ReferenceField("body", "the body that was set", Body).Must(),
				ReferenceField("setUp", "the set-up it was set for", SetUp).Must(), InstantField("at", "when").Must()}, settingMembers()...)...),
	},
}

var meterSpec = Spec{
	Kind:    Meter,
	Doc:     "an instrument",
	Natural: []string{"name"},
	Fields: []Field{
		TextField("name", "what the crew calls it", 80).Must(),
		ChoiceField("meterKind", "how it measures", "spectrometer threeSensor other").Must(),
		TextField("serial", "its serial", 80),
		date("lastChecked", "when it was last checked or calibrated"),
		number("floorXY", "x, y", "how finely it can be trusted", "0.0001", "0.05").byDefault("0.002 for a spectrometer, else 0.004 (common practice, no source)"),
		ChoiceField("receptor", "what it gathers light with", "cosine dome spot").byDefault("cosine"),
	},
}
