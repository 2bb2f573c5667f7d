package logbook

// The kinds of what is shot, and what people say about it.
const (
	KindTake       Kind = "take"
	KindClip       Kind = "clip"
	KindAcceptance Kind = "acceptance"
	KindNote       Kind = "note"
)

var takeSpec = Spec{
	Kind:    KindTake,
	Doc:     "a take of a set-up",
	Natural: []string{"setUp", "number", "suffix", "takeKind"},
	Fields: []Field{
		reference("setUp", "its set-up", KindSetUp).required(),
		whole("number", "its number; what is not slated or is a chart is a clip without a take", "1", "999").required(),
		text("suffix", "pick-up suffix", 8),
		choice("takeKind", "what it is", "take chart falseStart test").byDefault("take"),
		flag("series", "one of several takes in one clip").byDefault("false"),
		choice("slate", "where it was slated", "head tail none").byDefault("head"),
		choice("state", "how it ended", "complete falseStart noGood numberUsedAgain").byDefault("complete"),
		flag("wanted", "marked as wanted").byDefault("false"),
		instant("startedAt", "when it began").byDefault("the time of its first entry"),
		instant("endedAt", "when it ended"),
		choice("sky", "the sky", skies).byDefault("the last one of the set-up"),
		reference("white", "the white in force", KindWhite).byDefault("the set-up's white that applied"),
	},
}

func clipChangeMembers() []Field {
	return append([]Field{text("timecode", "when", 16)}, settingMembers()...)
}

var clipSpec = Spec{
	Kind: KindClip,
	Doc:  "one recording of one body; belongs to no, one or several takes",
	Fields: []Field{
		reference("setUp", "its set-up", KindSetUp).required(),
		reference("camera", "the camera letter", KindCamera).required(),
		reference("body", "the body that recorded", KindBody).required(),
		group("takes/*", "it contains the take whose id is the key", pattern("beginsAt", "timecode at which the take begins", "timecode")),
		choice("clipKind", "a recording with no take says what it is", "take chart falseStart test").byDefault("take"),
		whole("part", "part, where one camera rolled again", "1", "99").byDefault("1"),
		group("name", "its name and where that comes from", text("text", "the name", 80).required(), choice("from", "where it comes from", "counted readOff fromListing").required()),
		text("card", "the card", 24),
		pattern("timecode/start", "timecode at its start", "timecode"),
		pattern("timecode/end", "timecode at its end", "timecode"),
		choice("timecode/rate", "frames per second", frameRates).byDefault("the production's"),
		flag("timecode/drop", "drop frame").byDefault("the production's"),
		number("sensorRate", "frames/s", "sensor frame rate", "0.1", "10000"),
		text("shutter", "shutter as shown", 24),
		choice("whiteMode", "how its white was set", whiteModes).required(),
		number("kelvin", "K", "kelvin set", "1000", "25000"),
		number("tint", "tint units of the body", "tint set", "-200", "200"),
		number("amberBlue", "units of the body", "amber–blue set", "-200", "200"),
		text("preset", "preset set, a key of the body's presets", 64),
		reference("customFrom", "the sample its custom white was made from", KindSample),
		choice("settingsAre", "how the settings are known", "carriedOver readOff fromFile").byDefault("carriedOver"),
		instant("readOffAt", "when they were last read off"),
		group("changes/*", "a change of white while rolling", clipChangeMembers()...),
		text("recordingMode", "a key of the body's recordingModes", 64).byDefault("the body's only one"),
		number("sensitivity", "ISO or EI", "sensitivity", "1", "1000000"),
		text("lens", "lens", 80).byDefault("the last one"),
		text("filters", "filters", 120).byDefault("the last ones"),
		flag("rolled", "the camera rolled").byDefault("true"),
		instant("startedAt", "when it began"),
	},
}

var acceptanceSpec = Spec{
	Kind: KindAcceptance,
	Doc:  "a person declares a deviation deliberate",
	Fields: []Field{
		text("deviation", "the kind of deviation, as the list of deviations names it", 64).required().fact(),
		list("subjects", "the records it is about", 32, reference("", "a record")).required().fact(),
		reference("comparedWith", "the record they were compared with").fact(),
		choice("scope", "how far it reaches", "clip fromTakeOn setUp scene day").required(),
		group("accepted", "the value accepted", number("mired", "mired", "warm–cool", "-2000", "2000"), number("duv", "Duv", "green–magenta", "-0.1", "0.1"), number("steps", "picture steps", "in the picture", "0", "2000")),
		group("ceiling", "raised again above these sizes", number("mired", "mired", "warm–cool, without sign", "0", "2000"), number("duv", "Duv", "green–magenta, without sign", "0", "0.1"), number("steps", "picture steps", "in the picture", "0", "2000")),
		text("reason", "why it is deliberate", 500).required(),
		text("decidedBy", "who says so", 80),
	},
}

var noteSpec = Spec{
	Kind: KindNote,
	Doc:  "a note on any record",
	Fields: []Field{
		reference("about", "the record").required(),
		text("text", "the note", 2000).required(),
		form("to", "for whom", group("set", "the set"), group("post", "the post team"), group("person", "one person", text("name", "who", 80).required())),
		reference("answers", "the note it answers", KindNote),
		choice("state", "whether it is settled", "open done").byDefault("open"),
		pattern("discards", "the refused edit that it discards, by its dot", "dot").fact(),
	},
}
