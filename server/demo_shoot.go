package main

import (
	"fmt"
	"strings"

	"evenwhite/logbook"
)

// position is a camera letter on the set: the body that fills it, its card, and
// the counters of that card.
type position struct {
	body     string
	mode     string // key of the recording mode
	card     string
	clips    int
	runs     bool // its timecode runs with the recording, not with the day
	recorded int  // seconds on the card
}

// shot is what is logged of one run of the cameras.
type shot struct {
	setUp   string
	at      string // local time of day
	seconds int
	// take is the name of the take that the clips contain, "" for none; more are
	// a series within the same clips.
	take   string
	number int
	fields string // further fields of the take, JSON without braces
	kind   string // of the clips, where they belong to no take
	clips  []clip
}

// clip is one camera's part of a shot. Settings are JSON without braces.
type clip struct {
	camera   string
	settings string
	carried  bool // the settings were carried over, not read off
	fields   string
}

// onKelvin are the settings of a camera on a kelvin value.
func onKelvin(kelvin, tint int) string {
	return fmt.Sprintf(`"whiteMode":"kelvin","kelvin":%d,"tint":%d`, kelvin, tint)
}

// shoot logs a take and its clips.
func (p *phone) shoot(s shot) {
	p.at(s.at)
	if s.take != "" {
		p.make(logbook.KindTake, s.take, object(fmt.Sprintf(`"setUp":"#%s","number":%d,"startedAt":%q`, s.setUp, s.number, p.instant(0)), s.fields))
	}
	for _, c := range s.clips {
		p.roll(s, c)
	}
	p.now = demoTime(p.story.date, s.at) + logbook.Millis(s.seconds)*1000
}

// clipName is how the story names the clip that a camera recorded in a take.
func clipName(take, camera string) string {
	return "clip/" + strings.TrimPrefix(take, "take/") + "-" + strings.ToLower(camera)
}

func (p *phone) roll(s shot, c clip) {
	at := p.story.cameras[c.camera]
	at.clips++
	name := fmt.Sprintf("%sC%03d", at.card, at.clips)
	story := clipName(s.take, c.camera)
	if s.take == "" {
		story = "clip/" + strings.ToLower(name)
	}
	for p.story.made[story] { // another part
		story += "-again"
	}
	start := demoTime(p.story.date, s.at)
	first := seconds(start)
	if at.runs {
		first = 3600 + at.recorded
		at.recorded += s.seconds
	}
	are := `"settingsAre":"carriedOver"`
	if !c.carried {
		are = fmt.Sprintf(`"settingsAre":"readOff","readOffAt":%q`, p.instant(start))
	}
	member := fmt.Sprintf(`"clipKind":%q`, s.kind)
	if s.take != "" {
		member = fmt.Sprintf(`"takes/#%s":{"beginsAt":%q}`, s.take, timecode(first+4))
	}
	p.make(logbook.KindClip, story, object(
		fmt.Sprintf(`"setUp":"#%s","camera":"#camera/%s","body":"#%s","recordingMode":%q,"card":%q`, s.setUp, strings.ToLower(c.camera), at.body, at.mode, at.card),
		fmt.Sprintf(`"name":{"text":%q,"from":"counted"},"timecode/start":%q,"timecode/end":%q,"startedAt":%q`, name, timecode(first), timecode(first+s.seconds), p.instant(start)),
		member, c.settings, are, c.fields))
}

// object joins the fields of an object, some of which may be none.
func object(parts ...string) string {
	var some []string
	for _, part := range parts {
		if part != "" {
			some = append(some, part)
		}
	}
	return "{" + strings.Join(some, ",") + "}"
}

// instant writes a time as phones do, with the offset of the zone; 0 is now.
func (p *phone) instant(at logbook.Millis) string {
	if at == 0 {
		at = p.now
	}
	return at.Time().In(demoZone).Format("2006-01-02T15:04:05Z07:00")
}

// seconds since local midnight.
func seconds(at logbook.Millis) int {
	t := at.Time().In(demoZone)
	return t.Hour()*3600 + t.Minute()*60 + t.Second()
}

func timecode(s int) string { return fmt.Sprintf("%02d:%02d:%02d:00", s/3600, s/60%60, s%60) }

// newCard puts another card into a camera.
func (s *story) newCard(camera, card string) {
	at := s.cameras[camera]
	at.card, at.clips, at.recorded = card, 0, 0
}

// read logs a reading of a light of the set-up at a local time. How and what else
// are JSON without braces.
func (p *phone) read(setUp, name, at, light, measured string, lux int, more string) {
	p.at(at)
	of := fmt.Sprintf(`"of":{"as":"light","light":"#%s"}`, light)
	if light == "" {
		of = `"of":{"as":"everything"}`
	}
	meter := `"meter":"#meter/hand"`
	if strings.Contains(more, `"meter"`) {
		meter = ""
	}
	p.make(logbook.KindReading, name, object(
		fmt.Sprintf(`"setUp":"#%s","takenAt":%q`, setUp, p.instant(0)), meter, of,
		fmt.Sprintf(`"measured":%s,"illuminance":{"value":%d,"unit":"lux"}`, measured, lux), more))
}
