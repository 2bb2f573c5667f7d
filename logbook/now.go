package logbook

import "time"

// SetUpNow is what is known of a set-up at a moment: its white, its lights, what
// each camera should be set to, and what is off.
type SetUpNow struct {
	SetUp ID            `json:"setUp"`
	At    time.Time     `json:"at"`
	White *WhiteInForce `json:"white,omitempty"`
	// Reference is what lamps are judged against: the white in force, else the
	// reference light, else the mix. Absent where nothing is known.
	Reference       *Chromaticity `json:"reference,omitempty"`
	ReferenceOrigin Origin        `json:"referenceOrigin"`
	Lights          []LightNow    `json:"lights"`
	Cameras         []CameraNow   `json:"cameras"`
	Deviations      []Deviation   `json:"deviations"`
	Limits          []Limits      `json:"limits"`
	Cautions        []string      `json:"cautions"` // chosen by the lamps that are here
}

// LightNow is a light with its current reading.
type LightNow struct {
	Light           ID            `json:"light"`
	Name            string        `json:"name"`
	Role            string        `json:"role"`
	Intent          string        `json:"intent"` // match, holdOwnColor or leave
	On              bool          `json:"on"`
	Reading         ID            `json:"reading,omitzero"`
	TakenAt         *time.Time    `json:"takenAt,omitempty"`
	AgeMinutes      *float64      `json:"ageMinutes,omitempty"`
	StaleBecause    []string      `json:"staleBecause,omitempty"`
	IlluminanceLux  *float64      `json:"illuminanceLux,omitempty"`
	FloorXY         *float64      `json:"floorXY,omitempty"` // of the meter
	Color           *Chromaticity `json:"color,omitempty"`
	Problem         string        `json:"problem,omitempty"` // why there is no colour
	Cast            *Difference   `json:"cast,omitempty"`    // against the reference
	OffOwnColor     *Difference   `json:"offOwnColor,omitempty"`
	Picture         *Swatch       `json:"picture,omitempty"` // predicted, in the white that cameras aim at
	Limits          Limits        `json:"limits"`
	Within          *bool         `json:"within,omitempty"` // absent where it is not judged
	DriftSinceFirst *Difference   `json:"driftSinceFirst,omitempty"`
}

// CameraNow is a camera with its aim, what to dial, and what it was last set to.
type CameraNow struct {
	Camera       ID            `json:"camera"`
	Letter       string        `json:"letter"`
	Body         ID            `json:"body,omitzero"`
	BodyLabel    string        `json:"bodyLabel,omitempty"`
	Reference    bool          `json:"reference"` // the camera that the others are matched to
	IntendedCast IntendedCast  `json:"intendedCast"`
	Aim          *Chromaticity `json:"aim,omitempty"`
	Dial         *Dialled      `json:"dial,omitempty"` // what to dial for the aim
	Second       *Dialled      `json:"second,omitempty"`
	Problem      string        `json:"problem,omitempty"` // why there is no aim or nothing to dial
	Last         *LastSetting  `json:"last,omitempty"`
}

// LastSetting is what a camera's newest clip in the set-up was set to.
type LastSetting struct {
	Clip        ID          `json:"clip"`
	SettingsAre string      `json:"settingsAre"` // carriedOver, readOff or fromFile
	Setting     Dialled     `json:"setting"`
	OffAim      *Difference `json:"offAim,omitempty"`
	OffCamera   *Difference `json:"offReferenceCamera,omitempty"`
	Problem     string      `json:"problem,omitempty"`
}

// Swatch is a colour for a screen, in sRGB code values. Clipped says that the
// real one is stronger than a screen can show.
type Swatch struct {
	R       int  `json:"r"`
	G       int  `json:"g"`
	B       int  `json:"b"`
	Clipped bool `json:"clipped"`
}
