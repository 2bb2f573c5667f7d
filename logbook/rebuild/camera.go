package rebuild

import (
	"cmp"
	"encoding/json"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// SheetCamera is a camera as it was set for the take.
type SheetCamera struct {
	Camera      logbook.ID       `json:"camera"`
	Letter      string           `json:"letter"`
	Body        logbook.ID       `json:"body,omitzero"`
	BodyLabel   string           `json:"bodyLabel,omitempty"`
	Clip        logbook.ID       `json:"clip,omitzero"` // absent: it did not roll in the take
	ClipName    string           `json:"clipName,omitempty"`
	Setting     *cameras.Dialled `json:"setting,omitempty"`
	SettingsAre string           `json:"settingsAre,omitempty"` // carriedOver, readOff or fromFile
	ReadOffAt   *time.Time       `json:"readOffAt,omitempty"`
	Lens        string           `json:"lens,omitempty"`
	Filters     string           `json:"filters,omitempty"`
	Mode        string           `json:"recordingMode,omitempty"`
	Shutter     string           `json:"shutter,omitempty"`
	Sensitivity json.Number      `json:"sensitivity,omitempty"` // ISO or EI
	SensorRate  json.Number      `json:"sensorRate,omitempty"`  // frames per second
	// Aim is the white that it should have had, OffAim how its picture lay from that.
	Aim     *figure.Chromaticity `json:"aim,omitempty"`
	OffAim  string               `json:"offAim,omitempty"`
	Verdict string               `json:"verdict,omitempty"` // inside, off or can't tell
	Problem string               `json:"problem,omitempty"`
	// white is what the setting was, by cards where they count.
	white setup.SettingWhite
	set   cameras.Setting
}

func (s *side) camerasThere() {
	for _, camera := range s.Cameras() {
		c := SheetCamera{Camera: camera.ID, Letter: camera.Text("letter")}
		if aim := s.Aim(s.period, camera.ID); aim.Aim != nil {
			c.Aim = aim.Aim
		}
		if clip, ok := s.clipOf(camera.ID); ok {
			s.fromClip(&c, clip)
		} else if s.take.Known() {
			c.Problem = "it did not roll in this take"
		} else {
			s.fromStanding(&c, camera)
		}
		s.cameras = append(s.cameras, c)
	}
}

// clipOf is the first clip of the take by a camera.
func (s *side) clipOf(camera logbook.ID) (logbook.View, bool) {
	if !s.take.Known() {
		return logbook.View{}, false
	}
	for _, clip := range s.Clips() { // by time
		if clip.Ref("camera") != camera {
			continue
		}
		for _, take := range s.TakesOf(clip) {
			if take.ID == s.take.ID {
				return clip, true
			}
		}
	}
	return logbook.View{}, false
}

func (s *side) fromClip(c *SheetCamera, clip logbook.View) {
	body, _ := s.Book().RecordOf(kinds.Body, clip.Ref("body"))
	c.Clip, c.Body, c.BodyLabel = clip.ID, body.ID, labelOf(body)
	c.ClipName, _ = clip.Value("name").Member("text").Text()
	if c.SettingsAre = clip.Text("settingsAre"); c.SettingsAre == "" {
		c.SettingsAre = "carriedOver"
	}
	if at, ok := clip.Time("readOffAt"); ok {
		when := at.Time()
		c.ReadOffAt = &when
	}
	c.Lens, c.Filters, c.Shutter = clip.Text("lens"), clip.Text("filters"), clip.Text("shutter")
	if c.Mode = clip.Text("recordingMode"); c.Mode != "" {
		name, _ := body.Value("recordingModes/" + c.Mode).Member("name").Text()
		c.Mode = cmp.Or(name, c.Mode)
	}
	sensitivity, _ := clip.Value("sensitivity").Number()
	rate, _ := clip.Value("sensorRate").Number()
	c.Sensitivity, c.SensorRate = json.Number(sensitivity), json.Number(rate)
	c.set = cameras.ClipSetting(clip)
	s.setTo(c, body, s.WhiteAtClip(clip, body, c.set))
}

// fromStanding is a camera of a set-up without a take: as it stands.
func (s *side) fromStanding(c *SheetCamera, camera logbook.View) {
	stands := s.Stands(camera)
	if !stands.Known {
		c.Problem = "its settings were not read off yet"
		return
	}
	c.Body, c.BodyLabel, c.set = stands.Body.ID, labelOf(stands.Body), stands.Setting
	c.SettingsAre = "readOff"
	if stands.ReadOff == nil {
		clip, _ := s.Book().RecordOf(kinds.Clip, stands.Clip)
		s.fromClip(c, clip)
		return
	}
	when := stands.ReadOff.Time()
	c.ReadOffAt = &when
	s.setTo(c, stands.Body, s.WhitePlanned(camera, stands.Body, s.period, stands.Setting))
}

func labelOf(body logbook.View) string {
	if !body.Known() {
		return ""
	}
	return body.Text("label")
}

func (s *side) setTo(c *SheetCamera, body logbook.View, white setup.SettingWhite) {
	dialled := s.Memo().Label(c.set, body).Dialled
	c.Setting, c.white = &dialled, white
	if white.Err != nil {
		c.Problem = white.Err.Error()
	}
	if off := s.OffAim(s.period, c.Camera, white.Possible); len(off) > 0 {
		j := s.Limits().Judge(off)
		c.OffAim, c.Verdict = j.Words, figure.VerdictWords[j.Verdict]
	}
}
