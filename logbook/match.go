package logbook

// Match asks what to set on one camera so that it matches another.
type Match struct {
	SetUp  ID `json:"setUp"`
	Camera ID `json:"camera"`      // the one to set
	To     ID `json:"to,omitzero"` // the one to match; zero: the set-up's reference camera
}

// MatchAnswer is what to set, computed from the labels of both cameras. It never
// says that the cameras match: that takes a card shot by both.
type MatchAnswer struct {
	SetUp  ID     `json:"setUp"`
	Camera ID     `json:"camera"`
	To     ID     `json:"to"`
	Basis  string `json:"basis"` // "from labels"
	Words  string `json:"words"`
	// ToSetting is what the other camera is set to, with the white of that label;
	// ToClip is the clip that it was taken from, zero where it is only planned.
	ToSetting Dialled       `json:"toSetting"`
	ToClip    ID            `json:"toClip,omitzero"`
	Light     *Chromaticity `json:"light,omitempty"` // the light in which the pictures are compared
	Best      Dialled       `json:"best"`
	Second    *Dialled      `json:"second,omitempty"`
	Limits    Limits        `json:"limits"`
	Within    bool          `json:"within"` // the residual of Best lies within Limits
	Origin    Origin        `json:"origin"`
}

// Dialled is a setting on a body's dials.
type Dialled struct {
	WhiteMode string        `json:"whiteMode"`
	Kelvin    *float64      `json:"kelvin,omitempty"`
	Tint      *float64      `json:"tint,omitempty"`
	AmberBlue *float64      `json:"amberBlue,omitempty"`
	Preset    string        `json:"preset,omitempty"`
	Words     string        `json:"words"`           // "4300 K, tint +2"
	White     *Chromaticity `json:"white,omitempty"` // of the label
	// Residual is how the picture still lies from what was asked for.
	Residual *Difference `json:"residual,omitempty"`
	DeltaE00 *float64    `json:"deltaE00,omitempty"` // of a mid grey, between the two pictures
}
