package footage

import "evenwhite/logbook"

// What may come of a clip.
const (
	Sure     = "sure"     // name, card and order or time agree
	Likely   = "likely"   // something does not, or is not known
	Shifted  = "shifted"  // the name is another's: names shift from somewhere
	NearMiss = "nearMiss" // one slip in the name
	NoFile   = "noFile"
)

// Joined says which recording belongs to which clip of the log.
type Joined struct {
	Seen         string              `json:"seen"` // names this result, for whoever adopts of it
	Counts       JoinCounts          `json:"counts"`
	Clips        []JoinedClip        `json:"clips"`        // of the cards that the listing has, by camera and time
	NoRow        []UnloggedRecording `json:"noRow"`        // recordings that nobody logged: the first 1000
	Shifts       []NameShift         `json:"shifts"`       // each is adopted as one
	Settings     []SettingDifference `json:"settings"`     // where the file says other settings than the log
	Cards        []JoinedCard        `json:"cards"`        // folders of the listing, and what they are
	NotListed    []string            `json:"notListed"`    // cards of the log of which the listing has nothing
	Explanations []string            `json:"explanations"` // what a person should know of the listing
}

// JoinCounts counts what is in a Joined.
type JoinCounts struct {
	Files      int `json:"files"`
	Beside     int `json:"beside"` // sidecars, lists, sound: not looked at
	Recordings int `json:"recordings"`
	Sure       int `json:"sure"`
	Likely     int `json:"likely"`
	Shifted    int `json:"shifted"`
	NearMiss   int `json:"nearMiss"`
	NoFile     int `json:"noFile"`
	NoRow      int `json:"noRow"`
	Confirmed  int `json:"confirmed"` // settings of sure clips that the file says as well
	Different  int `json:"different"` // settings that it says otherwise
}

// JoinedClip is a clip of the log and the recording that is its own.
type JoinedClip struct {
	Clip      logbook.ID `json:"clip"`
	Result    string     `json:"result"` // sure, likely, shifted, nearMiss or noFile
	Words     string     `json:"words"`
	Camera    string     `json:"camera"`
	Card      string     `json:"card,omitempty"`
	Day       string     `json:"day,omitempty"`
	SetUp     string     `json:"setUp,omitempty"`
	Logged    string     `json:"logged,omitempty"` // name in the log
	File      string     `json:"file,omitempty"`   // name of the recording
	Folder    string     `json:"folder,omitempty"`
	Files     int        `json:"files,omitempty"`
	By        int        `json:"by,omitempty"`        // of shifted: how much higher the number of the file is; none of another card
	Adopted   bool       `json:"adopted,omitempty"`   // the log has this name from a listing
	Confirmed bool       `json:"confirmed,omitempty"` // the file says the settings of the log
}

// UnloggedRecording is a recording without a clip in the log.
type UnloggedRecording struct {
	File   string `json:"file"`
	Folder string `json:"folder,omitempty"`
	Camera string `json:"camera,omitempty"`
	Card   string `json:"card,omitempty"`
	Words  string `json:"words"`
}

// NameShift is a stretch of clips on one card whose names are all off by the same count, or, by 0, that
// are named for another card or have no name.
type NameShift struct {
	From   logbook.ID   `json:"from"` // its first clip, by which it is adopted
	Camera string       `json:"camera"`
	Card   string       `json:"card,omitempty"`
	Day    string       `json:"day,omitempty"`
	By     int          `json:"by"`
	Clips  []logbook.ID `json:"clips"`
	Words  string       `json:"words"`
}

// JoinedCard is a folder of the listing.
type JoinedCard struct {
	Folder     string `json:"folder"`
	Recordings int    `json:"recordings"`
	Camera     string `json:"camera,omitempty"`
	Card       string `json:"card,omitempty"`
	Day        string `json:"day,omitempty"`
	Words      string `json:"words"`
}
