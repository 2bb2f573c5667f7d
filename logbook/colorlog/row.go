package colorlog

import (
	"encoding/json"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
)

// A Row is one clip and one take that it contains, or a clip with no take.
// Numbers that people typed stand as typed; computed ones are rounded to the
// step that is shown. Absent members are not known, or do not apply.
type Row struct {
	Find  Find  `json:"find"`
	Set   Set   `json:"set"`
	Meant Meant `json:"meant"`
	There There `json:"there"`
	Gives Gives `json:"gives"`
	Off   Off   `json:"off"`
	// Correction is that of the clip, as the service answers it by itself.
	Correction Correction      `json:"correction"`
	Limits     []figure.Limits `json:"limits"` // used in this row's set-up, by role
	SetUp      *OfSetUp        `json:"-"`      // what all rows of its set-up share
}

// OfSetUp is what the rows of a set-up share, and no form says in each of them.
type OfSetUp struct {
	Name       string // with scene and day
	Deviations []deviation.Deviation
}

// Find is what leads from the footage to the row.
type Find struct {
	DayNumber    json.Number `json:"dayNumber,omitempty"`
	Date         string      `json:"date,omitempty"` // yyyy-mm-dd, of the shooting day
	Unit         string      `json:"unit,omitempty"`
	Scene        string      `json:"scene,omitempty"`
	SetUp        string      `json:"setUp,omitempty"`
	SetUpKind    string      `json:"setUpKind,omitempty"`
	Take         *Take       `json:"take,omitempty"` // absent where the clip belongs to no take
	ClipKind     string      `json:"clipKind"`       // of a clip with no take: chart, falseStart, test; else take
	Camera       string      `json:"camera,omitempty"`
	Body         string      `json:"body,omitempty"`
	ClipName     string      `json:"clipName,omitempty"`
	NameFrom     string      `json:"nameFrom,omitempty"` // counted, readOff or fromListing
	Part         json.Number `json:"part,omitempty"`
	Card         string      `json:"card,omitempty"`
	Timecode     Timecode    `json:"timecode"`
	StartedAt    time.Time   `json:"startedAt"`              // UTC; of the clip, else of its take, else when it was logged
	StartedLocal string      `json:"startedLocal,omitempty"` // the same moment in the zone of its day, with the offset
	Rolled       bool        `json:"rolled"`
	Row          int         `json:"row"` // of the rows of this clip, from 1
	Rows         int         `json:"rows"`
	ClipRecord   logbook.ID  `json:"clipRecord"`
	SetUpRecord  logbook.ID  `json:"setUpRecord,omitzero"`
}

// Take is the take of a row.
type Take struct {
	Number   json.Number `json:"number,omitempty"`
	Suffix   string      `json:"suffix,omitempty"`
	Kind     string      `json:"kind"`  // take, chart, falseStart or test
	State    string      `json:"state"` // complete, falseStart, noGood or numberUsedAgain
	Series   bool        `json:"series"`
	Wanted   bool        `json:"wanted"`
	BeginsAt string      `json:"beginsAt,omitempty"` // timecode within the clip
	Record   logbook.ID  `json:"record"`
}

// Timecode is of the clip.
type Timecode struct {
	Start string `json:"start,omitempty"`
	End   string `json:"end,omitempty"`
	Rate  string `json:"rate,omitempty"` // frames per second of the count
	Drop  bool   `json:"drop"`
}

// Set is what the camera was set to.
type Set struct {
	WhiteMode     string               `json:"whiteMode,omitempty"` // kelvin, preset, customFromCard, auto or autoHeld
	Kelvin        json.Number          `json:"kelvin,omitempty"`
	Tint          json.Number          `json:"tint,omitempty"`      // units of the body
	AmberBlue     json.Number          `json:"amberBlue,omitempty"` // units of the body
	Preset        string               `json:"preset,omitempty"`    // its name on the body
	CustomFrom    logbook.ID           `json:"customFrom,omitzero"` // the sample
	SettingsAre   string               `json:"settingsAre"`         // carriedOver, readOff, fromFile, or notReadOff: nobody said it yet
	ReadOffAt     *time.Time           `json:"readOffAt,omitempty"`
	Changes       []string             `json:"changes,omitempty"` // while rolling, in words
	RecordingMode string               `json:"recordingMode,omitempty"`
	Encoding      string               `json:"encoding,omitempty"`
	Primaries     string               `json:"primaries,omitempty"`   // "typed" where four x y were typed
	WhiteInFile   string               `json:"whiteInFile,omitempty"` // baked, storedBeside or free
	LabelWhite    *figure.Chromaticity `json:"labelWhite,omitempty"`  // the white that the setting names
	Sensitivity   json.Number          `json:"sensitivity,omitempty"` // ISO or EI
	SensorRate    json.Number          `json:"sensorRate,omitempty"`  // frames per second
	Shutter       string               `json:"shutter,omitempty"`     // as shown
	Lens          string               `json:"lens,omitempty"`
	Filters       string               `json:"filters,omitempty"`
	Problem       string               `json:"problem,omitempty"` // why there is no label white, or what it assumes
}

// Meant is what the set-up called white, and how the light was meant to look.
type Meant struct {
	White        logbook.ID           `json:"white,omitzero"` // the record
	From         string               `json:"from,omitempty"` // the form of its rule: readings, nominal, mix …
	Words        string               `json:"words,omitempty"`
	Since        string               `json:"since,omitempty"`
	Contested    string               `json:"contested,omitempty"` // "contested: 4300 K or 3200 K", the first is this one
	Color        *figure.Chromaticity `json:"color,omitempty"`
	Method       string               `json:"method,omitempty"`
	Confidence   string               `json:"confidence,omitempty"` // measured, mixed, computed, nominal or label
	Caveats      []string             `json:"caveats,omitempty"`
	IntendedCast figure.IntendedCast  `json:"intendedCast"`
	Aim          *figure.Chromaticity `json:"aim,omitempty"` // of this camera
	DecidedBy    string               `json:"decidedBy,omitempty"`
	JudgedOn     string               `json:"judgedOn,omitempty"`
	Problem      string               `json:"problem,omitempty"` // why there is no colour or no aim
}

// There is the light that was measured. Ages count to the start of the clip.
type There struct {
	Reference      *figure.Chromaticity `json:"reference,omitempty"` // of the reference light, else of the mix
	ReferenceFrom  string               `json:"referenceFrom,omitempty"`
	Readings       []logbook.ID         `json:"readings,omitempty"`
	AgeMinutes     *float64             `json:"ageMinutes,omitempty"`
	IlluminanceLux *float64             `json:"illuminanceLux,omitempty"` // of the reference light
	Sky            string               `json:"sky,omitempty"`
	Lights         []Light              `json:"lights"`
}

// Light is one light of the set-up as it was at the clip.
type Light struct {
	Name           string               `json:"name"`
	Role           string               `json:"role"`
	Intent         string               `json:"intent"`
	On             bool                 `json:"on"`
	Color          *figure.Chromaticity `json:"color,omitempty"`
	IlluminanceLux *float64             `json:"illuminanceLux,omitempty"`
	AgeMinutes     *float64             `json:"ageMinutes,omitempty"`
	// When says how the reading lies to the clip: "30 min before", "read 3 min later", "between
	// 10:00 UTC and 10:40 UTC". NextReading is the later one of two.
	When        string             `json:"when,omitempty"`
	Reading     logbook.ID         `json:"reading,omitzero"`
	NextReading logbook.ID         `json:"nextReading,omitzero"`
	Cast        *figure.Difference `json:"cast,omitempty"`    // against the reference
	Problem     string             `json:"problem,omitempty"` // why there is no colour
	Record      logbook.ID         `json:"record"`
}

// Gives is what follows for the picture, predicted from the label of the camera.
type Gives struct {
	Measured        *figure.Difference `json:"measured,omitempty"` // the cast by a grey card in the clip itself
	Cast            *figure.Difference `json:"cast,omitempty"`     // of the reference light in this camera; the intended cast is in it
	OffAim          *figure.Difference `json:"offAim,omitempty"`   // what is left of it beyond the intended cast
	OffReference    *figure.Difference `json:"offReferenceCamera,omitempty"`
	ReferenceCamera string             `json:"referenceCamera,omitempty"`
	RestsOn         string             `json:"restsOn,omitempty"` // the camera's "label", or "by cards" its white
	// Caveats says what is to be known of the cards of this camera and of the reference camera: "a
	// card of camera A was shot 10 min later", "the cards of camera B say too little".
	Caveats []string `json:"caveats,omitempty"`
	// LaterCards says what cards of a later date say of the camera, where none counts for the
	// clip: "a card of day 2 says +6 mired". It is counted in nowhere.
	LaterCards  string     `json:"laterCards,omitempty"`
	ChartClip   string     `json:"chartClip,omitempty"` // name of this camera's chart in the set-up
	ChartRecord logbook.ID `json:"chartRecord,omitzero"`
	Problem     string     `json:"problem,omitempty"` // why nothing can be predicted
}

// Correction is what takes the picture of the clip to what was intended.
type Correction struct {
	ToIntent    *cameras.Correction `json:"toIntent,omitempty"`
	ToNeutral   *cameras.Correction `json:"-"`                     // in a file of that name alone
	Basis       string              `json:"basis,omitempty"`       // card in the clip, card on this setting, cards elsewhere, or label
	SpreadMired *float64            `json:"spreadMired,omitempty"` // of the cards; absent where it rests on none, or on codes alone
	SpreadDuv   *float64            `json:"spreadDuv,omitempty"`
	Encoding    string              `json:"encoding,omitempty"` // transfer and primaries
	Confidence  string              `json:"confidence,omitempty"`
	Caveats     []string            `json:"caveats,omitempty"`
	Problem     string              `json:"problem,omitempty"` // why there is none
}

// Off is what differs from what was meant, and what is not known.
type Off struct {
	Worst     string     `json:"worst,omitempty"` // the headline of the worst that nobody accepted
	Count     int        `json:"count"`           // deviations that list this row, accepted ones too
	Accepted  int        `json:"accepted"`        // how many of them
	Findings  []Finding  `json:"findings,omitempty"`
	Conflicts []Conflict `json:"conflicts,omitempty"` // fields that people set apart and nobody settled
	Twins     []string   `json:"twins,omitempty"`     // what may be the same thing logged twice, in words
	Missing   []string   `json:"missing,omitempty"`   // in words
	Notes     []Note     `json:"notes,omitempty"`
	// AfterClosing is what the row rests on that was entered after its day was closed.
	AfterClosing []Late `json:"afterClosing,omitempty"`
}

// Finding is one deviation that lists the clip or the take of the row.
type Finding struct {
	Kind         string       `json:"kind"`
	Headline     string       `json:"headline"`       // at most 60 characters
	ToDo         string       `json:"toDo,omitempty"` // on the set
	Words        string       `json:"words"`
	Count        int          `json:"count"` // how many takes, clips or lights show it
	Value        *figure.Size `json:"value,omitempty"`
	Limit        *figure.Size `json:"limit,omitempty"`
	ComparedWith string       `json:"comparedWith,omitempty"`
	AcceptedBy   string       `json:"acceptedBy,omitempty"`
	Reason       string       `json:"reason,omitempty"` // of the acceptance
}

// Conflict is a field with several values of which nobody chose one; the first is
// shown in the row.
type Conflict struct {
	On     string   `json:"on"` // clip, take, setUp, camera, body, white, or light with its name
	Field  string   `json:"field"`
	Values []string `json:"values"` // each with who set it
}

// Late is a record that somebody entered or changed after the day was closed: its last such
// edit.
type Late struct {
	On     string     `json:"on"` // clip, take, setUp, white, reading, card, or light with its name
	By     string     `json:"by"`
	At     time.Time  `json:"at"` // UTC
	Record logbook.ID `json:"record"`
}
