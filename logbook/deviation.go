package logbook

import "time"

// A Deviation is a finding: something differs from something by more than the
// tolerance, or data is missing or stale. Findings of one cause are one
// deviation with a count.
type Deviation struct {
	Kind  string `json:"kind"`  // one of DeviationKinds
	Cause string `json:"cause"` // equal causes are one deviation; stable between calls
	Count int    `json:"count"` // how many takes, clips or lights show it
	Words string `json:"words"` // one sentence
	// Value is the greatest size found and Limit the tolerance that it passes,
	// rounded to the step that is shown; both absent where nothing is counted.
	Value        *Size     `json:"value,omitempty"`
	Limit        *Size     `json:"limit,omitempty"`
	ComparedWith *Compared `json:"comparedWith,omitempty"`
	Subjects     []ID      `json:"subjects"` // what it is about, sorted
	SetUp        ID        `json:"setUp,omitzero"`
	Takes        []ID      `json:"takes,omitempty"`
	Clips        []ID      `json:"clips,omitempty"`
	Cameras      []ID      `json:"cameras,omitempty"`
	Accepted     *Accepted `json:"accepted,omitempty"`
}

// Size is what is counted of a deviation, rounded to the step that is shown. In a
// value mired and Duv carry the signs of the picture; in a limit, Duv is the
// limit on the side on which the value lies.
type Size struct {
	Mired   *float64 `json:"mired,omitempty"`
	Duv     *float64 `json:"duv,omitempty"`
	Steps   *float64 `json:"steps,omitempty"`
	Minutes *float64 `json:"minutes,omitempty"`
}

// Compared is what a deviation is measured against.
type Compared struct {
	Words  string `json:"words"` // "the aim of camera A", "take 3"
	Record ID     `json:"record,omitzero"`
}

// Accepted says who declared a deviation deliberate.
type Accepted struct {
	Acceptance ID        `json:"acceptance"`
	By         string    `json:"by"`
	Reason     string    `json:"reason"`
	Scope      string    `json:"scope"` // clip, fromTakeOn, setUp, scene or day
	Ceiling    *Size     `json:"ceiling,omitempty"`
	At         time.Time `json:"at"`
}

// DeviationScope picks what Deviations looks at: one set-up, one day, or
// everything where both are zero.
type DeviationScope struct{ SetUp, Day ID }

// The kinds of deviations.
const (
	SettingOffAim         = "setting-off-aim"
	CamerasDiffer         = "cameras-differ"
	TakesDiffer           = "takes-differ"
	LightOffReference     = "light-off-reference"
	LightOffOwnColor      = "light-off-own-color"
	ReadingStale          = "reading-stale"
	LightDrifted          = "light-drifted"
	NoReading             = "no-reading"
	NoWhite               = "no-white"
	WhiteUnresolved       = "white-unresolved"
	NoChart               = "no-chart"
	SettingsCarriedOver   = "settings-carried-over"
	NoSettings            = "no-settings"
	AutomaticWhite        = "automatic-white"
	SettingNotOnBody      = "setting-not-on-body"
	AimNotReachable       = "aim-not-reachable"
	ReferenceLeadsNowhere = "reference-leads-nowhere"
	TakeNumberTwice       = "take-number-twice"
)
