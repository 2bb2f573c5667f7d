package kinds

import "evenwhite/logbook"

// The kinds of what is shot, and what people say about it.
const (
	Take       logbook.Kind = "take"
	Clip       logbook.Kind = "clip"
	Acceptance logbook.Kind = "acceptance"
	Note       logbook.Kind = "note"
)

var takeSpec = Spec{
	Kind:    Take,
	Doc:     "a take of a set-up",
	Natural: []string{"setUp", "number", "suffix", "takeKind"},
	Fields: []Field{
		ReferenceField("setUp", "its set-up", SetUp).Must(),
		WholeField("number", "its number; what is not slated or is a chart is a clip without a take", "1", "999").Must(),
		TextField("suffix", "pick-up suffix", 8),
		ChoiceField("takeKind", "what it is", "take chart falseStart test").byDefault("take"),
		FlagField("series", "one of several takes in one clip").byDefault("false"),
		ChoiceField("slate", "where it was slated", "head tail none").byDefault("head"),
		ChoiceField("state", "how it ended", "complete falseStart noGood numberUsedAgain").byDefault("complete"),
		FlagField("wanted", "marked as wanted").byDefault("false"),
		InstantField("startedAt", "when it began").byDefault("the time of its first entry"),
		InstantField("endedAt", "when it ended"),
		ChoiceField("sky", "the sky", Skies).byDefault("the last one of the set-up"),
		ReferenceField("white", "the white in force", White).byDefault("the set-up's white that applied"),
	},
}

func clipChangeMembers() []Field {
	return append([]Field{TextField("timecode", "when", 16)}, settingMembers()...)
}

var ClipSpec = Spec{
	Kind: Clip,
	Doc:  "one recording of one body; belongs to no, one or several takes",
	Fields: []Field{
		ReferenceField("setUp", "its set-up", SetUp).Must(),
		ReferenceField("camera", "the camera letter", Camera).Must(),
		ReferenceField("body", "the body that recorded", Body).Must(),
		group("takes/*", "it contains the take whose id is the key", PatternField("beginsAt", "timecode at which the take begins", "timecode")),
		ChoiceField("clipKind", "a recording with no take says what it is", "take chart falseStart test").byDefault("take"),
		WholeField("part", "part, where one camera rolled again", "1", "99").byDefault("1"),
		group("name", "its name and where that comes from", TextField("text", "the name", 80).Must(), ChoiceField("from", "where it comes from", "counted readOff fromListing").Must()),
		TextField("card", "the card", 24),
		PatternField("timecode/start", "timecode at its start", "timecode"),
		PatternField("timecode/end", "timecode at its end", "timecode"),
		ChoiceField("timecode/rate", "frames per second", frameRates).byDefault("the production's"),
		FlagField("timecode/drop", "drop frame").byDefault("the production's"),
		number("sensorRate", "frames/s", "sensor frame rate", "0.1", "10000"),
		TextField("shutter", "shutter as shown", 24),
		ChoiceField("whiteMode", "how its white was set", WhiteModes).Must(),
		number("kelvin", "K", "kelvin set", "1000", "25000"),
		number("tint", "tint units of the body", "tint set", "-200", "200"),
		number("amberBlue", "units of the body", "amber–blue set", "-200", "200"),
		TextField("preset", "preset set, a key of the body's presets", 64),
		ReferenceField("customFrom", "the sample its custom white was made from", Sample),
		ChoiceField("settingsAre", "how the settings are known", "carriedOver readOff fromFile").byDefault("carriedOver"),
		InstantField("readOffAt", "when they were last read off"),
		group("changes/*", "a change of white while rolling", clipChangeMembers()...),
		TextField("recordingMode", "a key of the body's recordingModes", 64).byDefault("the body's only one"),
		number("sensitivity", "ISO or EI", "sensitivity", "1", "1000000"),
		TextField("lens", "lens", 80).byDefault("the last one"),
		TextField("filters", "filters", 120).byDefault("the last ones"),
		FlagField("rolled", "the camera rolled").byDefault("true"),
		InstantField("startedAt", "when it began"),
	},
}

var acceptanceSpec = Spec{
	Kind: Acceptance,
	Doc:  "a person declares a deviation deliberate",
	Fields: []Field{
		TextField("deviation", "the kind of deviation, as the list of deviations names it", 64).Must().fact(),
		list("subjects", "the records it is about", 32, ReferenceField("", "a record")).Must().fact(),
		ReferenceField("comparedWith", "the record they were compared with").fact(),
		ChoiceField("scope", "how far it reaches", "clip fromTakeOn setUp scene day").Must(),
		group("accepted", "the value accepted", number("mired", "mired", "warm–cool", "-2000", "2000"), number("duv", "Duv", "green–magenta", "-0.1", "0.1"), number("steps", "picture steps", "in the picture", "0", "2000")),
		group("ceiling", "raised again above these sizes", number("mired", "mired", "warm–cool, without sign", "0", "2000"), number("duv", "Duv", "green–magenta, without sign", "0", "0.1"), number("steps", "picture steps", "in the picture", "0", "2000")),
		TextField("reason", "why it is deliberate", 500).Must(),
		TextField("decidedBy", "who says so", 80),
	},
}

var noteSpec = Spec{
	Kind: Note,
	Doc:  "a note on any record",
	Fields: []Field{
		ReferenceField("about", "the record").Must(),
		TextField("text", "the note", 2000).Must(),
		form("to", "for whom", group("set", "the set"), group("post", "the post team"), group("person", "one person", TextField("name", "who", 80).Must())),
		ReferenceField("answers", "the note it answers", Note),
		ChoiceField("state", "whether it is settled", "open done").byDefault("open"),
		PatternField("discards", "the refused edit that it discards, by its dot", "dot").fact(),
	},
}
