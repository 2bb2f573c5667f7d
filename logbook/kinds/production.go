package kinds

import "evenwhite/logbook"

// The kinds that say which job, day and set-up an entry belongs to.
const (
	Production logbook.Kind = "production"
	Day        logbook.Kind = "day"
	Scene      logbook.Kind = "scene"
	SetUp      logbook.Kind = "setUp"
)

const frameRates = "23.976 24 25 29.97 30 50 59.94 60"

// LimitRoles are the roles that may have limits of their own: the cameras and
// takes, and the roles of lights.
const LimitRoles = "camera " + lightRoles

func limitFields() []Field {
	const whose = " of the role named by the key (" + LimitRoles + ")"
	return []Field{
		number("limits/*/mired", "mired", "warm–cool limit"+whose, "0.5", "300"),
		number("limits/*/duvGreen", "Duv", "limit towards green"+whose, "0.0001", "0.05"),
		number("limits/*/duvMagenta", "Duv", "limit towards magenta"+whose+", without sign", "0.0001", "0.05"),
		number("limits/*/steps", "picture steps of 0.0011 u'v'", "limit in the picture"+whose, "0.5", "200"),
	}
}

func castMembers() []Field {
	return []Field{
		TextField("name", "what the cast is called on this production", 80),
		number("mired", "mired", "+ warmer, − cooler, in the picture", "-300", "300"),
		number("duv", "Duv", "+ greener, − more magenta, in the picture", "-0.05", "0.05"),
	}
}

var productionSpec = Spec{
	Kind: Production,
	Doc:  "one film, series or job: everything else belongs to exactly one",
	Fields: append([]Field{
		TextField("title", "the working title", 200).Must(),
		PatternField("shortName", "letters, digits and -, at most 16: begins file names", "shortName").byDefault("made from the title"),
		PatternField("timeZone", "IANA time zone of the production", "timeZone").Must(),
		ChoiceField("slating", "how takes are slated", "sceneAndLetter runningNumber none").byDefault("sceneAndLetter"),
		TextField("lettersNotUsed", "letters that set-ups and cameras leave out", 26).byDefault("IO"),
		ChoiceField("frameRate", "frames per second of the project", frameRates).Must(),
		FlagField("dropFrame", "drop-frame timecode").byDefault("false"),
		ChoiceField("gelFamily", "what \"full\" means for warm and cool gels", "based5500 based6500 typed").Must(),
		ChoiceField("nominalWhite", "what a kelvin without Duv means: on the black-body locus, or on the daylight locus above 5000 K (blended from 4000 K)", "blackBody daylight").byDefault("daylight"),
		group("intendedCasts/*", "an intended cast with a name, for picking", castMembers()...),
		WholeField("remeasureAfterMinutes", "a reading older than this is stale", "5", "480").byDefault("90"),
		ChoiceField("falseTakeNumber", "whether a false start after the slate uses up its take number", "used usedAgain").byDefault("asked at the first one"),
	}, limitFields()...),
}

var daySpec = Spec{
	Kind:    Day,
	Doc:     "a shooting day; entries belong to the chosen day, not to the clock",
	Natural: []string{"number", "unit"},
	Fields: []Field{
		WholeField("number", "the shooting day's number", "1", "999").Must(),
		date("date", "its date").Must(),
		TextField("unit", "main, second …", 40).byDefault("main"),
		PatternField("timeZone", "IANA time zone, where it is not the production's", "timeZone").byDefault("the production's"),
		TextField("place", "where", 200),
		TextField("weather", "the weather in words", 200),
		FlagField("closed", "wrapped: what is entered afterwards is taken and marked").byDefault("false"),
	},
}

var sceneSpec = Spec{
	Kind:    Scene,
	Doc:     "a scene of the script",
	Natural: []string{"name"},
	Fields: []Field{
		TextField("name", "the scene's number or name", 40).Must(),
		ChoiceField("location", "interior, exterior or both", "interior exterior both"),
		TextField("storyTime", "time of day in the story", 40),
		group("intendedCast", "how the reference light is meant to look in this scene", castMembers()...),
		FlagField("mustLookLike/*", "the scene whose id is the key must look like this one"),
	},
}

var setUpSpec = Spec{
	Kind:    SetUp,
	Doc:     "one lighting and camera arrangement",
	Natural: []string{"day", "scene", "name"},
	Fields: append([]Field{
		ReferenceField("day", "the shooting day", Day).Must(),
		ReferenceField("scene", "the scene; none where nothing is slated", Scene),
		TextField("name", "the set-up's letter or name", 40).Must(),
		ChoiceField("setUpKind", "what is shot", "picture chart plate screenElement pickUp test").byDefault("picture"),
		group("mustMatch", "what this set-up must look like",
			ReferenceField("setUp", "a set-up", SetUp).Must(), ReferenceField("take", "one of its takes", Take)),
		ReferenceField("referenceCamera", "the camera the others are matched to", Camera).byDefault("the first camera in use, by letter"),
		ReferenceField("referenceLight", "the light that cameras are balanced for; without one: the mix", Light),
		TextField("referencePosition", "the position at which the mix is taken, where no light is the reference", 80),
		FlagField("cameras/*/inUse", "the camera whose id is the key is in use"),
		TextField("cameras/*/lens", "its lens", 80),
		TextField("cameras/*/filters", "its filters", 120),
		TextField("cameras/*/recordingMode", "its recording mode, a key of the body's recordingModes", 64),
		number("cameras/*/plannedKelvin", "K", "the kelvin it is to be set to", "1000", "25000"),
		number("cameras/*/plannedTint", "tint units of the body", "the tint it is to be set to", "-200", "200"),
		ChoiceField("mains", "mains frequency, for flicker", "50 60 none"),
		TextField("place", "where on the location", 200),
		TextField("description", "anything else", 2000),
	}, limitFields()...),
}
