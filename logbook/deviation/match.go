package deviation

import (
	"cmp"
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// mustMatch compares the set-up with the set-up or take that it must look like.
func (s *Finder) mustMatch() (all []sighting) {
	rule := s.View().Value("mustMatch")
	otherID, _ := rule.Member("setUp").ID()
	other, ok := s.Book().RecordOf(kinds.SetUp, otherID)
	if !ok || other.ID == s.View().ID {
		return nil
	}
	take := logbook.View{}
	if id, ok := rule.Member("take").ID(); ok {
		if take, ok = s.Book().RecordOf(kinds.Take, id); !ok {
			return nil
		}
	}
	there, ok := setup.LookOf(s.Book(), other, take, s.Now())
	if !ok {
		return nil
	}
	reference := s.OfReferenceCamera(s.Shots())
	looked := false
	for _, take := range s.Takes() {
		here, ok := setup.LookOf(s.Book(), s.View(), take, s.Now())
		if !ok {
			continue
		}
		looked = true
		if f, ok := s.looksDiffer(here, there); ok && f.Kind == WhiteNotKnown {
			all = append(all, f)
		} else if ok {
			f.takes = []logbook.View{take}
			switch sh := reference[take.ID]; { // whose dial is off, or cannot be right, differs by it
			case sh == nil:
			case sh.blamed:
				f.cause, f.clip = sh.cause, sh.Clip.ID
			case sh.unable != "":
				f.cause, f.clip = sh.unable, sh.Clip.ID
			}
			all = append(all, f)
		}
	}
	if here, ok := setup.LookOf(s.Book(), s.View(), logbook.View{}, s.Now()); ok && !looked {
		if f, ok := s.looksDiffer(here, there); ok {
			all = append(all, f)
		}
	}
	return all
}

func (s *Finder) looksDiffer(here, there setup.Look) (f sighting, ok bool) {
	judged := s.Limits().Judge(here.Apart(there))
	switch judged.Verdict {
	case figure.Inside:
		return f, false
	case figure.CantTell:
		return s.cantTellLook(here, there, judged), true
	}
	f = s.missing(SetUpsDiffer, fmt.Sprintf("the reference light is %s here than in %s, which this set-up must match",
		judged.Words, there.Words))
	f.Headline = about(headlineRoom, s.Limits().Than(judged.Least)+" than ", there.Words, "")
	f.ToDo = about(headlineLength, "choose white and cast as in ", there.Words, "")
	f.cause = causeOf(f.cause, there.Record)
	f.camera, f.one = s.ReferenceCamera(), s.ReferenceCamera()
	f.measured(judged.Least, s.Limits())
	f.ComparedWith = &figure.Compared{Words: there.Words, Record: there.Record}
	return f, true
}

// cantTellLook is what is missing where it hangs on that whether two set-ups match: once,
// whatever the takes.
func (s *Finder) cantTellLook(here, there setup.Look, judged figure.Judged) sighting {
	missing, toDo := "which of the whites counts is not settled", settleWhites
	if open := cmp.Or(here.Open, there.Open); open != "" && !here.Contested && !there.Contested {
		missing, toDo = open+" is not known (shoot a card)", "shoot a grey card"
	}
	f := s.missing(WhiteNotKnown, fmt.Sprintf("can't tell whether this set-up looks as %s does, which it must match: %s; it may be %s",
		there.Words, missing, judged.Words))
	f.Headline = about(headlineRoom, "Can't tell if it matches ", there.Words, "")
	f.ToDo = toDo
	f.cause = causeOf(f.cause, there.Record)
	f.camera, f.one = s.ReferenceCamera(), s.ReferenceCamera()
	return f
}
