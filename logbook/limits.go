package logbook

// Limits are the tolerances of one role: the camera (also from take to take) or
// a role of lights.
type Limits struct {
	Role       string  `json:"role"`
	Mired      float64 `json:"mired"`
	DuvGreen   float64 `json:"duvGreen"`
	DuvMagenta float64 `json:"duvMagenta"` // without sign
	Steps      float64 `json:"steps"`
	// From says where they were set: "common practice, no source", production
	// or setUp; where the four differ, the nearest of them.
	From string `json:"from"`
}
