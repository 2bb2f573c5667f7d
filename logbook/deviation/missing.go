package deviation

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// missingFindings are about data that is not there, or leads to no number.
func (s *Finder) missingFindings() (all []sighting) {
	all = append(all, s.noReading()...)
	all = append(all, s.noWhite()...)
	all = append(all, s.chooseAgain()...)
	all = append(all, s.noChart()...)
	all = append(all, s.carriedOver()...)
	all = append(all, s.unsaid()...)
	return append(all, s.sinceBattery()...)
}

func (s *Finder) missing(kind, words string) sighting {
	f := sighting{cause: causeOf(kind, s.View().ID)}
	f.Kind, f.Words = kind, words
	return f
}

// noReading: a light that is left as it is needs none, unless cameras are
// balanced for it.
func (s *Finder) noReading() (all []sighting) {
	reference := s.View().Ref("referenceLight")
	for _, light := range s.LightsOn() {
		if (lighting.Intent(light) != "leave" || light.ID == reference) && len(s.Course(light).Readings()) == 0 {
			f := s.missing(NoReading, "").naming(light.Text("name"), noReadingOf)
			f.subjects, f.one = []logbook.ID{light.ID}, light.ID
			all = append(all, f)
		}
	}
	if len(all) == 0 && len(s.Readings()) == 0 && len(s.Lights()) == 0 && len(s.Clips()) > 0 {
		f := s.missing(NoReading, "nothing was measured in this set-up")
		f.Headline, f.ToDo = "Nothing was metered here", "enter the lights and meter them"
		all = append(all, f)
	}
	return all
}

func noReadingOf(lights []string) (headline, toDo, words string) {
	few := lighting.Listed(lights)
	headline, toDo = "No reading of "+few, "meter "+few
	if len(lights) > 1 && utf8.RuneCountInString(headline) > headlineLength {
		headline, toDo = fmt.Sprintf("No reading of %d lights", len(lights)), "meter them"
	}
	return headline, toDo, "not measured: " + strings.Join(lights, ", ")
}

func (s *Finder) noWhite() (all []sighting) {
	for _, p := range s.Periods() {
		switch {
		case !p.White.Known():
			begun := len(s.Lights())+len(s.Readings())+len(s.Clips())+len(s.Takes()) > 0
			if s.View().Text("setUpKind") == "test" || !p.Recorded && (p != s.Current() || !begun) {
				continue
			}
			f := s.missing(NoWhite, "no white was chosen in this set-up")
			f.Headline, f.ToDo = "No white chosen", "choose a white"
			if len(setup.WhitesOf(s.Book(), s.View().ID)) > 0 {
				f.Words, f.Headline, f.ToDo = "no white applied yet", "No white yet", "choose a white for them"
			}
			f.now = p == s.Current()
			all = append(all, s.ofPeriod(f, p)...)
		case p.Reference == nil:
			f := s.missing(WhiteUnresolved, "").naming(p.Problem, noColourBecause)
			f.cause = causeOf(f.cause, p.Problem) // another white with another problem is another finding
			f.subjects, f.now = []logbook.ID{p.White.ID}, p == s.Current()
			all = append(all, s.ofPeriod(f, p)...)
		}
	}
	return all
}

func noColourBecause(problems []string) (headline, toDo, words string) {
	return "The white has no colour", "choose the white again", "the white has no colour: " + strings.Join(problems, "; ")
}

// ofPeriod lists the takes of a period, and all of its clips.
func (s *Finder) ofPeriod(f sighting, p *setup.Period) []sighting {
	f.takes = p.Takes
	all := []sighting{f}
	for _, clip := range s.Clips() {
		if s.CountedIn(clip) == p {
			f.takes, f.clip = s.TakesOf(clip), clip.ID
			all = append(all, f)
		}
	}
	return all
}

// noChart: a chart is a clip of a chart take or of that kind, or a sample.
func (s *Finder) noChart() (all []sighting) {
	kind := s.View().Text("setUpKind")
	if kind == "chart" || kind == "test" {
		return nil
	}
	shot, chart := logbook.IDSet{}, logbook.IDSet{}
	for _, clip := range s.Clips() {
		if s.IsChart(clip) {
			chart.Add(clip.Ref("camera"))
		} else {
			shot.Add(clip.Ref("camera"))
		}
	}
	for _, sample := range s.Book().Referring(kinds.Sample, "setUp", s.View().ID) {
		if !lighting.Withdrawn(sample) {
			chart.Add(sample.Ref("camera"))
		}
	}
	var without []logbook.View
	for _, camera := range s.Cameras() {
		if shot[camera.ID] && !chart[camera.ID] {
			without = append(without, camera)
		}
	}
	for _, camera := range without {
		f := s.missing(NoChart, "").naming(camera.Text("letter"), noChartOf)
		f.subjects, f.one, f.camera = []logbook.ID{camera.ID}, camera.ID, camera.ID
		all = append(all, f)
	}
	return all
}

func noChartOf(letters []string) (headline, toDo, words string) {
	few := lighting.Listed(letters)
	return few + ": no grey card yet", "shoot a grey card with " + few, "no chart or grey card was shot with " + few
}

// carriedOver: a setting that was copied from take to take and never read off the
// camera may have changed unseen.
func (s *Finder) carriedOver() (all []sighting) {
	type filled struct{ camera, body logbook.ID }
	read := map[filled]bool{}
	for _, clip := range s.Clips() {
		if readOff(clip) {
			read[filled{clip.Ref("camera"), clip.Ref("body")}] = true
		}
	}
	for _, clip := range s.Clips() {
		camera, ok := s.Book().RecordOf(kinds.Camera, clip.Ref("camera"))
		if !ok || read[filled{camera.ID, clip.Ref("body")}] || clip.Value("whiteMode") == "" {
			continue
		}
		letter := camera.Text("letter")
		f := s.missing(SettingsCarriedOver,
			fmt.Sprintf("the settings of camera %s were only carried over, never read off", letter))
		f.Headline, f.ToDo = letter+": settings never read off", "read off "+letter+"'s settings"
		f.cause += "/" + causeOf(camera.ID, clip.Ref("body"))
		f.subjects, f.takes, f.clip, f.camera = []logbook.ID{camera.ID}, s.TakesOf(clip), clip.ID, camera.ID
		all = append(all, f)
	}
	return all
}

// readOff reports whether somebody or something looked at the camera for a clip's settings.
func readOff(clip logbook.View) bool {
	are := clip.Text("settingsAre")
	return are == "readOff" || are == "fromFile"
}

// sinceBattery: a body that was without power may have forgotten its settings, so
// that what was read off before says nothing any more.
func (s *Finder) sinceBattery() (all []sighting) {
	for _, camera := range s.Cameras() {
		at, ok := camera.Time("newBatteryAt")
		if !ok {
			continue
		}
		read, asked := logbook.Ever, false
		for _, clip := range s.Clips() {
			if clip.Ref("camera") != camera.ID || clip.Value("whiteMode") == "" || lighting.ClipTime(clip) < at {
				continue
			}
			if !asked {
				read, asked = s.readOffSince(camera, at), true
			}
			if lighting.ClipTime(clip) >= read {
				break
			}
			letter := camera.Text("letter")
			f := s.missing(SettingsCarriedOver,
				fmt.Sprintf("the settings of camera %s were carried over a new battery and not read off since", letter))
			f.Headline, f.ToDo = letter+": new battery, not read off since", "read off "+letter+"'s settings"
			f.cause = causeOf(SettingsCarriedOver, "battery", s.View().ID, camera.ID)
			f.subjects, f.takes, f.clip, f.camera = []logbook.ID{camera.ID}, s.TakesOf(clip), clip.ID, camera.ID
			all = append(all, f)
		}
	}
	return all
}

// readOffSince is when a camera's settings were first read off after a time, in any
// set-up.
func (s *Finder) readOffSince(camera logbook.View, at logbook.Millis) logbook.Millis {
	first := logbook.Ever
	for _, clip := range s.Book().Referring(kinds.Clip, "camera", camera.ID) {
		if t := lighting.ClipTime(clip); t >= at && readOff(clip) {
			first = min(first, t)
		}
	}
	return first
}

// takeNumbersTwice finds takes that a reader cannot tell apart. A take whose number was
// said to be used again is none of them.
func (s *Finder) takeNumbersTwice() (all []sighting) {
	groups := map[lighting.TakeLabel][]logbook.View{}
	var order []lighting.TakeLabel
	for _, take := range s.Takes() {
		if _, ok := take.Number("number"); !ok || !lighting.IsTake(take) || take.Text("state") == "numberUsedAgain" {
			continue
		}
		label := lighting.LabelOf(take)
		if groups[label] == nil {
			order = append(order, label)
		}
		groups[label] = append(groups[label], take)
	}
	for _, label := range order {
		group := groups[label]
		if len(group) < 2 {
			continue
		}
		for _, one := range group {
			f := s.missing(TakeNumberTwice,
				fmt.Sprintf("%d records have one take number: one take logged twice, or a number used twice", len(group)))
			f.Headline, f.ToDo = "Logged twice", "say whether it is one take or two"
			f.cause += "/" + label.String()
			f.subjects, f.takes, f.one = []logbook.ID{one.ID}, []logbook.View{one}, one.ID
			all = append(all, f)
		}
	}
	return all
}
