package deviation

import (
	"fmt"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// A verdict on a camera rests on whites that are a few where something of the body is not
// known, and on what is meant, which is several where whites were chosen apart. It is taken
// on each; where it is not the same on all, one finding for each body, or one of the white, says
// what is missing.

// offAims is how a shot may lie from what is meant.
func (s *Finder) offAims(sh *Shot) []figure.Difference {
	return s.OffAim(sh.period, sh.camera.ID, sh.possible)
}

// between is how a shot may lie from another in the same take; casts that are meant to differ
// are taken off.
func (s *Finder) between(sh, other *Shot) (all []figure.Difference) {
	for _, meant := range s.meantApart(sh, other) {
		for _, a := range other.possible {
			want, err := colorimetry.Aim(a.White, meant.Cast)
			if err != nil {
				continue
			}
			for _, b := range sh.possible {
				if b.Fits(a) {
					all = append(all, figure.PictureDifference(b.White, want, meant.Reference))
				}
			}
		}
	}
	return all
}

// meantApart are the casts by which two cameras are meant to differ, by each white that
// counts.
func (s *Finder) meantApart(sh, other *Shot) (all []setup.Wanted) {
	if sh.period == other.period {
		mine, others := s.Aims(sh.period, sh.camera.ID), s.Aims(other.period, other.camera.ID)
		for i, w := range sh.period.Whites() {
			all = append(all, setup.Wanted{Reference: w.Color, Cast: apart(mine[i], others[i])})
		}
	}
	if len(all) == 0 {
		cast := apart(s.Aim(sh.period, sh.camera.ID), s.Aim(other.period, other.camera.ID))
		all = []setup.Wanted{{Reference: sh.period.Reference, Cast: cast}}
	}
	return all
}

func apart(b, a setup.Aim) colorimetry.Cast {
	return colorimetry.Cast{Mired: colorimetry.Mired(b.IntendedCast.Mired - a.IntendedCast.Mired),
		Duv: colorimetry.Duv(b.IntendedCast.Duv - a.IntendedCast.Duv)}
}

// cantTell is the finding of a verdict that hangs on what is not known: of the shot's body,
// else of the other's, else which of several whites counts. It names no take: what is missing
// is missing once.
func (s *Finder) cantTell(sh, other *Shot, off []figure.Difference) sighting {
	letter := sh.camera.Text("letter")
	what := "whether camera " + letter + " is on its aim"
	if other != nil {
		what = fmt.Sprintf("whether camera %s looks as camera %s does", letter, other.camera.Text("letter"))
		known := *sh
		known.possible = known.possible[:1]
		if len(other.possible) > 1 && s.Limits().Judge(s.between(&known, other)).Verdict == figure.CantTell {
			sh, letter = other, other.camera.Text("letter")
		}
	}
	open := s.openOf(sh)
	ofBody := len(sh.possible) > 1 && open.what != ""
	if other == nil && ofBody { // which white counts can be settled at once, a card needs shooting
		ofBody = !s.hangsOnWhites(sh)
	}
	f := sighting{cause: causeOf(WhiteNotKnown, s.View().ID), camera: sh.camera.ID, one: sh.camera.ID}
	f.Kind = WhiteNotKnown
	if !ofBody && len(sh.period.Whites()) == 1 { // the one white may be several colours
		open, ofBody = s.openThrough(sh.period.InForce.By())
	}
	if !ofBody {
		f.Words = fmt.Sprintf("can't tell %s: which of the whites counts is not settled; it may be %s", what, figure.RangeWords(off))
		f.Headline, f.ToDo = "Can't tell: several whites count", settleWhites
		f.subjects = []logbook.ID{sh.camera.ID}
		return f
	}
	f.cause += "/" + causeOf(open.camera.ID, open.body)
	f.camera, f.one = open.camera.ID, open.camera.ID
	f.Words = fmt.Sprintf("can't tell %s: %s is not known (%s); it may be %s", what, open.what, open.how, figure.RangeWords(off))
	who, cant := letter, ": can't tell its green–magenta: "
	if now, ok := cameras.BodyNow(s.Book(), open.camera); ok && now.ID != open.body && open.camera.ID == sh.camera.ID {
		who, cant = letter+" before the swap", ": green–magenta: "
	}
	f.Headline, f.ToDo = who+cant+open.short, open.toDo
	f.subjects = []logbook.ID{open.camera.ID, open.body}
	return f
}

// An openPart is what is not known that a shot's white rests on.
type openPart struct {
	what, short string // "where tint 0 of B lies", "tint 0 not known"
	how, toDo   string // to find out
	camera      logbook.View
	body        logbook.ID
}

// openOf is what is not known of a shot's body, or of the camera by which the light on its cards
// is known.
func (s *Finder) openOf(sh *Shot) openPart {
	if open, ok := s.openThrough(sh.possible); ok {
		return open
	}
	letter, with := sh.camera.Text("letter"), sh.camera.Text("letter")
	if now, ok := cameras.BodyNow(s.Book(), sh.camera); ok && now.ID != sh.body.ID {
		with = "body " + sh.body.Text("label") // it was swapped out
	}
	return openPart{sh.setting.WhatIsOpen(sh.body, letter), notKnown(sh.possible, ""), "shoot a card", "shoot a grey card with " + with,
		sh.camera, sh.body.ID}
}

// openThrough is what is not known of the camera by which whites are known.
func (s *Finder) openThrough(possible []cameras.Possible) (open openPart, ok bool) {
	for _, p := range possible {
		through, body := p.Through()
		if camera, ok := s.Book().RecordOf(kinds.Camera, through); ok {
			letter := camera.Text("letter")
			return openPart{p.WhatIsOpen(letter), notKnown(possible, "of "+letter+" "), "meter the light on a card of " + letter,
				"meter the light on a grey card of " + letter, camera, body}, true
		}
	}
	return open, false
}

// notKnown says in few words what is not known.
func notKnown(possible []cameras.Possible, of string) string {
	if slices.ContainsFunc(possible, func(p cameras.Possible) bool { return p.UnitAssumed() }) {
		return "tint unit " + of + "not known"
	}
	return "tint 0 " + of + "not known"
}

// hangsOnWhites reports whether it can't be told of a shot whether it is on its aim even where all
// is known of its body, because several whites count.
func (s *Finder) hangsOnWhites(sh *Shot) bool {
	off := s.OffAim(sh.period, sh.camera.ID, sh.possible[:1])
	return len(sh.period.Whites()) > 1 && len(off) > 0 && s.Limits().Judge(off).Verdict == figure.CantTell
}

const settleWhites = "settle which white counts"
