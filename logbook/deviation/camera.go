package deviation

import (
	"fmt"
	"sort"
	"strings"
	"unicode/utf8"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// Shot is one setting of one clip, with what it is judged by.
type Shot struct {
	Clip, camera, body logbook.View
	setting            cameras.Setting
	period             *setup.Period
	takes              []logbook.View
	White              colorimetry.CCTDuv // of the label, moved by what cards taught
	ByCards            string             // the white in words, where cards moved it
	Cards              []logbook.ID       // those cards
	LaterCard          string             // how long after the clip one of them was shot; "" where none was
	PoorCards          bool               // there are cards, and they say too little
	known              bool               // whether White is
	possible           []cameras.Possible // what it may have been; several where something is not known
	cause              string             // of its dial
	blamed             bool               // its own dial is what is off
	unable             string             // the cause, where the body can do no better
}

// Known reports whether a shot has a White.
func (sh *Shot) Known() bool { return sh.known }

// Letter is that of the camera.
func (sh *Shot) Letter() string { return sh.camera.Text("letter") }

// Possible are the whites that a shot may have had.
func (sh *Shot) Possible() []cameras.Possible { return sh.possible }

// Shots are made once, for who is blamed is noted on them.
func (s *Finder) Shots() []*Shot {
	if s.made == nil {
		s.made = s.shotsOfClips()
	}
	return s.made
}

func (s *Finder) shotsOfClips() (all []*Shot) {
	for _, clip := range s.Clips() {
		camera, ok := s.Book().RecordOf(kinds.Camera, clip.Ref("camera"))
		if !ok {
			continue
		}
		body, _ := s.Book().RecordOf(kinds.Body, clip.Ref("body"))
		p, takes := s.PeriodOf(clip), s.TakesOf(clip)
		for _, set := range append([]cameras.Setting{cameras.ClipSetting(clip)}, cameras.ChangedSettings(clip)...) {
			sh := &Shot{Clip: clip, camera: camera, body: body, setting: set, period: p, takes: takes}
			sh.cause = causeOf("dial", s.View().ID, camera.ID, body.ID, set.Key())
			if body.Known() {
				s.findWhite(sh)
			}
			all = append(all, sh)
		}
	}
	return all
}

func (sh *Shot) finding(kind, cause, words string) sighting {
	f := sighting{Finding: Finding{Kind: kind, Words: words}, cause: cause, takes: sh.takes, clip: sh.Clip.ID, camera: sh.camera.ID}
	f.subjects = []logbook.ID{sh.camera.ID}
	return f
}

func (f *sighting) measured(d figure.Difference, l figure.Limits) {
	limit, _ := l.Exceeded(d)
	f.Value, f.Limit, f.times = d.Size(), &limit, l.TimesLimit(d)
}

func (s *Finder) cameraFindings() (all []sighting) {
	shots := s.ofFootage(s.Shots())
	reach := s.reach(shots)
	for _, sh := range shots {
		own := s.settingFindings(sh)
		if f, ok := s.offAim(sh, reach); ok && f.Kind == WhiteNotKnown {
			all = append(all, f)
		} else if ok {
			own = append(own, f)
		}
		sh.blamed = len(own) > 0
		all = append(all, own...)
	}
	all = append(all, s.takesDiffer(shots)...)
	reference := s.OfReferenceCamera(shots)
	for _, sh := range shots {
		if f, ok := s.offReferenceCamera(sh, reference); ok {
			all = append(all, f)
		}
	}
	return append(all, s.notReachable(reach, shots)...)
}

// ofFootage leaves out the shots of charts, tests and false starts.
func (s *Finder) ofFootage(shots []*Shot) (all []*Shot) {
	for _, sh := range shots {
		if s.isFootage(sh.Clip) {
			all = append(all, sh)
		}
	}
	return all
}

// settingFindings are those that a setting alone shows.
func (s *Finder) settingFindings(sh *Shot) (all []sighting) {
	letter, words := sh.camera.Text("letter"), sh.setting.InWords(sh.body)
	say := func(kind, words, headline, todo string) {
		f := sh.finding(kind, sh.cause, words)
		f.Headline, f.ToDo = headline, todo
		all = append(all, f)
	}
	switch {
	case sh.setting.Mode == "":
		all = append(all, s.notReadOff(sh))
	case sh.setting.Mode == "auto":
		say(AutomaticWhite, fmt.Sprintf("camera %s was left on automatic white: nobody knows its white", letter),
			letter+" on automatic white", s.byHand(sh))
	case sh.setting.Mode == "autoHeld":
		say(AutomaticWhite, fmt.Sprintf("camera %s holds a white that it found automatically: nobody knows which", letter),
			letter+" holds an automatic white", s.byHand(sh))
	case !sh.setting.Complete():
		say(NoSettings, fmt.Sprintf("camera %s: the setting has no value: %s", letter, words),
			letter+": white logged without a value", "read off "+letter+"'s white")
	}
	if !sh.body.Known() || sh.setting.Mode == "" {
		return all
	}
	if err := s.Memo().Label(sh.setting, sh.body).Off; err != nil {
		f := sh.finding(SettingNotOnBody, sh.cause, fmt.Sprintf("camera %s is logged at %s, which body %s does not have: %s",
			letter, words, sh.body.Text("label"), figure.DomainWords(err)))
		f.Headline, f.ToDo = letter+" can't be at "+withUnit(sh.setting, sh.body), "read off "+letter+"'s white again"
		f.subjects = append(f.subjects, sh.body.ID)
		f.ComparedWith = &figure.Compared{Words: "the dials of body " + sh.body.Text("label"), Record: sh.body.ID}
		all = append(all, f)
	}
	return all
}

// reachable is the best that a body can do for an aim.
type reachable struct {
	camera, body logbook.View
	period       *setup.Period
	best         cameras.Dialled
	left         figure.Judged // by the best, where it is beyond the limits or may be
	beyond       bool          // the best is still off by more than the limits
	key          string
}

type reachKey struct{ camera, body, white logbook.ID }

// reach finds what the bodies can do: those that recorded, and those that fill
// the cameras now.
func (s *Finder) reach(shots []*Shot) map[reachKey]*reachable {
	all := map[reachKey]*reachable{}
	try := func(camera, body logbook.View, p *setup.Period, learn func(white colorimetry.CCTDuv) (cameras.Error, bool)) {
		k := reachKey{camera.ID, body.ID, p.White.ID}
		aim := s.Aim(p, camera.ID)
		if _, done := all[k]; done || !body.Known() || aim.Aim == nil {
			return
		}
		all[k] = nil
		t, err := aim.Aim.CCTDuv()
		if err != nil {
			return
		}
		var learnt colorimetry.Cast
		var byCards *cameras.Error
		if e, ok := learn(t); ok && e.Counts() {
			learnt, byCards = e.Cast, &e
		}
		best, _, _, err := s.Memo().WhatToDialWith(body, t, p.Reference.XY, learnt)
		if err != nil {
			return
		}
		r := &reachable{camera: camera, body: body, period: p, best: best}
		if _, r.beyond = s.Limits().Exceeded(*best.Residual); r.beyond {
			r.best.Why = cameras.WhyNotNearest(body, t, p.Reference.XY, learnt, best)
			var left []figure.Difference
			for _, w := range s.WantedIn(p, camera.ID) {
				left = append(left, s.Memo().PossibleResiduals(body, w.Want, w.Reference.XY, byCards)...)
			}
			if r.beyond = len(left) > 0; r.beyond {
				r.left = s.Limits().Judge(left)
				r.beyond = r.left.Verdict == figure.Beyond
			}
		}
		r.key = best.Setting().Key()
		all[k] = r
	}
	for _, sh := range shots {
		try(sh.camera, sh.body, sh.period, func(white colorimetry.CCTDuv) (cameras.Error, bool) {
			return s.LearntTowards(sh.Clip, sh.body, sh.setting, white)
		})
	}
	for _, camera := range s.Cameras() {
		if body, ok := cameras.BodyNow(s.Book(), camera); ok {
			try(camera, body, s.Current(), func(white colorimetry.CCTDuv) (cameras.Error, bool) {
				return s.LearntHere(camera, body, s.Current(), cameras.ErrorQuery{White: white})
			})
		}
	}
	return all
}

// offAim compares a setting with the camera's aim. A setting that is the best the body
// has is no mistake: that its aim is out of reach is a finding of its own.
func (s *Finder) offAim(sh *Shot, reach map[reachKey]*reachable) (sighting, bool) {
	off := s.offAims(sh)
	if len(off) == 0 {
		return sighting{}, false
	}
	if r := reach[reachKey{sh.camera.ID, sh.body.ID, sh.period.White.ID}]; r != nil && r.beyond && r.key == sh.setting.Key() {
		sh.unable = s.aimCause(r)
		return sighting{}, false
	}
	judged := s.Limits().Judge(off)
	switch judged.Verdict {
	case figure.Inside:
		return sighting{}, false
	case figure.CantTell:
		return s.cantTell(sh, nil, off), true
	}
	letter := sh.camera.Text("letter")
	f := sh.finding(SettingOffAim, sh.cause, fmt.Sprintf("camera %s is set to %s, its aim is %s: the picture is %s",
		letter, sh.dialled(), s.aimWords(sh), judged.Words))
	f.Headline, f.ToDo = s.aboutWhite(letter+": ", s.Limits().Too, judged.Least, ""), s.toDial(sh)
	f.measured(judged.Least, s.Limits())
	f.ComparedWith = &figure.Compared{Words: "the aim of camera " + letter, Record: sh.period.White.ID}
	return f, true
}

// aimWords are the aims of a shot's camera, several where whites were chosen apart.
func (s *Finder) aimWords(sh *Shot) string {
	var all []string
	for _, aim := range s.Aims(sh.period, sh.camera.ID) {
		all = append(all, aim.Aim.Words)
	}
	return strings.Join(all, " or ")
}

// offReferenceCamera compares a setting with that of the reference camera in the
// same take; casts that are meant to differ are taken off.
func (s *Finder) offReferenceCamera(sh *Shot, reference map[logbook.ID]*Shot) (sighting, bool) {
	other := ShotBeside(sh, reference)
	if other == nil || len(sh.possible) == 0 {
		return sighting{}, false
	}
	off := s.between(sh, other)
	if len(off) == 0 {
		return sighting{}, false
	}
	judged := s.Limits().Judge(off)
	switch judged.Verdict {
	case figure.Inside:
		return sighting{}, false
	case figure.CantTell:
		return s.cantTell(sh, other, off), true
	}
	cause := causeOf("cameras", sh.cause, other.cause)
	switch {
	case sh.blamed:
		cause = sh.cause
	case sh.unable != "":
		cause = sh.unable
	case other.blamed:
		cause = other.cause
	case other.unable != "":
		cause = other.unable
	}
	letter, to := sh.camera.Text("letter"), other.camera.Text("letter")
	f := sh.finding(CamerasDiffer, cause, fmt.Sprintf("camera %s at %s is %s than camera %s at %s",
		letter, sh.dialled(), judged.Words, to, other.dialled()))
	f.Headline = s.aboutWhite(letter+" ", s.Limits().Than, judged.Least, " than "+to)
	if f.ToDo = s.toDial(sh); f.ToDo == "" {
		f.ToDo = s.toDial(other)
	}
	f.measured(judged.Least, s.Limits())
	f.ComparedWith = &figure.Compared{Words: "camera " + to, Record: s.ReferenceCamera()}
	return f, true
}

// OfReferenceCamera are the shots of the reference camera whose white is known, or may be a few, by
// take; of several in one take the last.
func (s *Finder) OfReferenceCamera(shots []*Shot) map[logbook.ID]*Shot {
	byTake := map[logbook.ID]*Shot{}
	for _, sh := range shots {
		if sh.camera.ID != s.ReferenceCamera() || len(sh.possible) == 0 {
			continue
		}
		for _, take := range sh.takes {
			byTake[take.ID] = sh
		}
	}
	return byTake
}

// ShotBeside is the reference camera's shot in a take of another camera's.
func ShotBeside(sh *Shot, reference map[logbook.ID]*Shot) *Shot {
	for i := len(sh.takes) - 1; i >= 0; i-- {
		if o, ok := reference[sh.takes[i].ID]; ok && o.camera.ID != sh.camera.ID {
			return o
		}
	}
	return nil
}

// takesDiffer compares, by equality, the setting of a clip with the one that most of the clips
// before it have, of the same camera and body under the same white; of equally many with the
// first. A later clip says nothing about an earlier one, and a setting that is off itself is
// compared with only where all are.
func (s *Finder) takesDiffer(shots []*Shot) (all []sighting) {
	type dial struct {
		reachKey
		setting string
	}
	usual, count := map[reachKey]*Shot{}, map[dial]int{}
	var differs []*Shot
	for _, sh := range shots {
		k := reachKey{sh.camera.ID, sh.body.ID, sh.period.White.ID}
		u := usual[k]
		count[dial{k, sh.cause}]++
		if u == nil || u.blamed && !sh.blamed || u.blamed == sh.blamed && count[dial{k, sh.cause}] > count[dial{k, u.cause}] {
			usual[k] = sh
		}
		if u == nil || u.cause == sh.cause || u.setting.Mode == "" || sh.setting.Mode == "" || u.blamed && !sh.blamed {
			continue // a setting that was put right differs from a wrong one
		}
		with := "the other clips"
		record := u.Clip.ID
		if len(u.takes) > 0 {
			with, record = lighting.TakeName(u.takes[0]), u.takes[0].ID
		}
		f := sh.finding(TakesDiffer, sh.cause, fmt.Sprintf("camera %s is at %s; in %s it was at %s",
			sh.camera.Text("letter"), sh.setting.InWords(sh.body), with, u.setting.InWords(u.body)))
		letter := sh.camera.Text("letter")
		is, usually := unlike(sh, u)
		f.Headline = fmt.Sprintf("%s at %s, usually %s", letter, is, usually)
		if s.stillSo(sh) && u.setting.OnDial() && !u.blamed {
			f.ToDo = fmt.Sprintf("set %s back to %s", letter, strings.TrimPrefix(u.setting.InWords(u.body), "preset "))
		}
		if off := s.apartInTakes(sh, u); len(off) > 0 {
			f.Value = s.Limits().Judge(off).Least.Size()
		}
		f.ComparedWith = &figure.Compared{Words: with, Record: record}
		all = append(all, f)
		differs = append(differs, sh)
	}
	for _, sh := range differs {
		sh.blamed = true
	}
	return all
}

// apartInTakes is how two settings of one body may differ in the picture.
func (s *Finder) apartInTakes(sh, u *Shot) (all []figure.Difference) {
	for _, white := range sh.possible {
		for _, usual := range u.possible {
			if white.Fits(usual) {
				all = append(all, figure.PictureDifference(white.White, usual.White, sh.period.Reference))
			}
		}
	}
	return all
}

func (s *Finder) aimCause(r *reachable) string {
	return causeOf("aim", s.View().ID, r.camera.ID, r.body.ID)
}

// notReachable finds the aims, per camera and body, that no setting meets: in the clips
// that were shot so, and now.
func (s *Finder) notReachable(reach map[reachKey]*reachable, shots []*Shot) (all []sighting) {
	for _, sh := range shots {
		if r := reach[reachKey{sh.camera.ID, sh.body.ID, sh.period.White.ID}]; r != nil && r.beyond {
			f := s.notReached(r)
			f.takes, f.clip = sh.takes, sh.Clip.ID
			all = append(all, f)
		}
	}
	for _, r := range sortedReach(reach) {
		body, ok := cameras.BodyNow(s.Book(), r.camera)
		if ok && body.ID == r.body.ID && r.period == s.Current() && r.beyond {
			all = append(all, s.notReached(r))
		}
	}
	return all
}

func (s *Finder) notReached(r *reachable) sighting {
	letter := r.camera.Text("letter")
	f := sighting{cause: s.aimCause(r), camera: r.camera.ID, subjects: []logbook.ID{r.camera.ID, r.body.ID}, one: r.camera.ID}
	f.Kind = AimNotReachable
	f.Words = fmt.Sprintf("no setting of body %s meets the aim of camera %s, %s: %s stays %s",
		r.body.Text("label"), letter, s.Aim(r.period, r.camera.ID).Aim.Words, r.best.Words, r.left.Words)
	if r.best.Why != "" {
		f.Words += "; " + r.best.Why
	}
	f.Headline, f.ToDo = s.outOfReach(r)
	f.measured(r.left.Least, s.Limits())
	f.ComparedWith = &figure.Compared{Words: "the aim of camera " + letter, Record: r.period.White.ID}
	return f
}

// outOfReach says in few words what a body can't meet, and what to do.
func (s *Finder) outOfReach(r *reachable) (headline, todo string) {
	letter, nearest := r.camera.Text("letter"), strings.TrimPrefix(r.best.Words, "preset ")
	aim, left := s.Aim(r.period, r.camera.ID).Aim, s.Limits().Too(r.left.Least)
	headline = fmt.Sprintf("%s can't reach its aim: %s", letter, left)
	if aim.CCTKelvin != nil {
		headline = fmt.Sprintf("%s can't reach %.0f K: %s", letter, *aim.CCTKelvin, left)
		whole := fmt.Sprintf("%s can't reach %.0f K. Nearest: %s, %s.", letter, *aim.CCTKelvin, nearest, left)
		if utf8.RuneCountInString(whole) <= headlineLength {
			headline = whole
		}
	}
	if r.period != s.Current() || !s.Worked() {
		return headline, ""
	}
	if stands := s.Stands(r.camera); stands.Known && stands.Body.ID == r.body.ID && stands.Setting.Key() == r.key {
		return headline, "filter the lens, or leave it to post"
	}
	return headline, setTo(letter, r.best)
}

func sortedReach(reach map[reachKey]*reachable) (all []*reachable) {
	for _, r := range reach {
		if r != nil {
			all = append(all, r)
		}
	}
	sort.Slice(all, func(i, j int) bool {
		if all[i].camera.ID != all[j].camera.ID {
			return all[i].camera.ID.Less(all[j].camera.ID)
		}
		return all[i].body.ID.Less(all[j].body.ID)
	})
	return all
}
