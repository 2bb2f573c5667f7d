package days_test

// A deed is what an event can do. It returns what came of it, "" for nothing.
type deed struct {
	name  string
	often int
	do    func(*job, *dice) string
}

var deeds []deed

func init() { // the deeds of an apart phone look at the table
	deeds = []deed{
		{"take", 40, (*job).takeOne},
		{"clip without a take", 2, (*job).clipAlone},
		{"chart", 2, (*job).chart},
		{"false start", 2, (*job).falseStart},
		{"series", 2, (*job).seriesOfTakes},
		{"take from paper", 4, (*job).takeFromPaper},
		{"note", 1, (*job).note},

		{"relight typed before", 5, (*job).relightBefore},
		{"relight typed after", 4, (*job).relightAfter},
		{"relight typed with since", 4, (*job).relightSince},
		{"relight in the reading", 5, (*job).relightInReading},
		{"relight never typed", 6, (*job).relightNever},
		{"gel", 4, (*job).gel},
		{"level", 3, (*job).level},
		{"off or on", 4, (*job).offOrOn},
		{"new light", 4, (*job).newLight},

		{"read one", 22, (*job).readOne},
		{"read everything", 6, (*job).readEverything},
		{"reading from paper", 4, (*job).readingFromPaper},
		{"sky changes", 4, (*job).skyChanges},
		{"read the sky", 6, (*job).readSky},
		{"compare meters", 2, (*job).compareMeters},
		{"strike out a reading", 3, (*job).strikeReading},
		{"replace a reading", 4, (*job).replaceReading},

		{"white", 12, (*job).whiteByRule},
		{"whites apart", 4, (*job).whitesApart},
		{"strike out a white", 2, (*job).strikeWhite},
		{"strike out a take", 2, (*job).strikeTake},

		{"card", 4, (*job).cardToday},
		{"card of another day", 3, (*job).cardElsewhen},
		{"swap a body", 2, (*job).swap},
		{"turn a camera", 6, (*job).turnCamera},
		{"type a body anew", 2, (*job).bodyAnew},

		{"accept", 3, (*job).accept},
		{"close or open a day", 3, (*job).closeDay},
		{"reference light", 2, (*job).referenceLight},
		{"intent", 2, (*job).intent},
		{"must match", 1, (*job).mustMatch},
		{"next set-up", 3, (*job).nextSetUp},
		{"next day", 2, (*job).nextDay},
		{"second unit", 2, (*job).secondUnit},
		{"go back", 2, (*job).goBack},

		{"other phone", 5, (*job).otherPhone},
		{"a clock goes wrong", 3, (*job).clockWrong},
		{"part", 3, (*job).part},
		{"meet", 4, (*job).meet},
	}
}

func deedNamed(name string, quiet bool) deed {
	all := deeds
	if quiet {
		all = quietDeeds
	}
	for _, d := range all {
		if d.name == name {
			return d
		}
	}
	panic("no deed " + name)
}

const did = "did"
