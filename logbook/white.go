package logbook

import "time"

// WhiteInForce is the white of a set-up that applies at a take or a time, with
// its rule resolved to a chromaticity.
type WhiteInForce struct {
	White ID     `json:"white"` // the record
	SetUp ID     `json:"setUp"` // the set-up that it was chosen for
	From  string `json:"from"`  // the form of its rule: readings, nominal, mix …
	Words string `json:"words"` // "nominal 5600 K", "key, measured 12 min before"
	Since string `json:"since"` // "start", "take 6", "14:05 UTC"
	// Color is absent where the rule cannot be resolved; Problem says why.
	Color        *Chromaticity `json:"color,omitempty"`
	Problem      string        `json:"problem,omitempty"`
	Origin       Origin        `json:"origin"`
	IntendedCast IntendedCast  `json:"intendedCast"`
	DecidedBy    string        `json:"decidedBy,omitempty"`
	JudgedOn     string        `json:"judgedOn,omitempty"`
	DecidedAt    time.Time     `json:"decidedAt"`
}

// IntendedCast is how the reference light is meant to look: mired + warmer,
// − cooler; Duv + greener, − more magenta.
type IntendedCast struct {
	Name  string  `json:"name,omitempty"`
	Mired float64 `json:"mired"`
	Duv   float64 `json:"duv"`
	// From says where it was set: white, exception, scene or none.
	From string `json:"from"`
}
