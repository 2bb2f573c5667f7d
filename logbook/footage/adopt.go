package footage

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// What a person may adopt: all that is sure, all settings that sure files say otherwise, one
// stretch of shifted names by its first clip, or one clip.
const (
	AdoptSure     = "sure"
	AdoptSettings = "settings"
	AdoptShift    = "shift:"
	AdoptClip     = "clip:"
)

const adoptAllowed = "sure, settings, shift: with the id of the first clip of a stretch, or clip: with the id of a clip"

// Errors about what is to be adopted.
var (
	ErrNothing = errors.New("there is nothing of this kind to adopt")
	ErrMoved   = errors.New("the log went on: join again")
)

const (
	fromListing = logbook.Value(`"fromListing"`)
	fromFile    = logbook.Value(`"fromFile"`)
	readOff     = logbook.Value(`"readOff"`)
)

// Adopt makes the drafts of one act, which writes into the log what a person takes over.
func Adopt(b *logbook.Book, joined Joined, what string) ([]logbook.Draft, error) {
	a := &adopter{book: b, joined: joined}
	var err error
	switch shift, isShift := strings.CutPrefix(what, AdoptShift); {
	case what == AdoptSure:
		err = a.sure()
	case what == AdoptSettings:
		err = a.settings()
	case isShift:
		err = a.shift(shift)
	default:
		clip, ok := strings.CutPrefix(what, AdoptClip)
		if !ok {
			return nil, &logbook.FieldError{Kind: kinds.Clip, Field: "what", Value: logbook.TextValue(what), Allowed: adoptAllowed}
		}
		err = a.clip(clip)
	}
	if err == nil && len(a.drafts) == 0 {
		err = fmt.Errorf("%w: %s", ErrNothing, what)
	}
	return a.drafts, err
}

type adopter struct {
	book   *logbook.Book
	joined Joined
	drafts []logbook.Draft
}

func (a *adopter) sure() error {
	for _, c := range a.joined.Clips {
		if c.Result != Sure {
			continue
		}
		if err := a.take(c, c.Confirmed); err != nil {
			return err
		}
	}
	return nil
}

func (a *adopter) shift(id string) error {
	for _, s := range a.joined.Shifts {
		if s.From.String() != id {
			continue
		}
		in := map[logbook.ID]bool{}
		for _, clip := range s.Clips {
			in[clip] = true
		}
		for _, c := range a.joined.Clips {
			if in[c.Clip] {
				if err := a.take(c, false); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (a *adopter) clip(id string) error {
	for _, c := range a.joined.Clips {
		if c.Clip.String() == id && c.File != "" {
			return a.take(c, false)
		}
	}
	return nil
}

// fits says why a name of a file cannot be a name in the log.
func fits(name string) error {
	allowed := ""
	switch {
	case utf8.RuneCountInString(name) > 80:
		allowed = "at most 80 characters"
	case strings.ContainsFunc(name, risky) || !utf8.ValidString(name):
		allowed = "letters that are seen as themselves: no control characters, none that turn the direction of writing"
	default:
		return nil
	}
	return &logbook.FieldError{Kind: kinds.Clip, Field: "name", Value: logbook.TextValue(Shown(name)), Allowed: allowed}
}

// take writes the name of a file into its clip, and that the file says its settings.
func (a *adopter) take(c JoinedClip, confirmed bool) error {
	v, err := a.found(c.Clip, c.Logged)
	if err != nil {
		return err
	}
	if err := fits(c.File); err != nil {
		return err
	}
	var changes []logbook.Change
	if c.Logged != c.File || !c.Adopted {
		name := logbook.ObjectValue([]logbook.Member{{Name: "text", Value: logbook.TextValue(c.File)}, {Name: "from", Value: fromListing}})
		changes = append(changes, logbook.Replace(v, "name", name))
	}
	if confirmed && v.Value("settingsAre") != fromFile {
		changes = append(changes, logbook.Replace(v, "settingsAre", fromFile))
	}
	if len(changes) > 0 {
		a.drafts = append(a.drafts, v.Drafts(changes)...)
	}
	return nil
}

// found is a clip as it was when it was joined: nobody named it anew, and nobody disagrees.
func (a *adopter) found(id logbook.ID, logged string) (logbook.View, error) {
	v, ok := a.book.RecordOf(kinds.Clip, id)
	if text, _ := v.Value("name").Member("text").Text(); !ok || v.Deleted() || text != logged {
		return v, fmt.Errorf("%w: clip %s is no longer named %q", ErrMoved, id, logged)
	}
	for _, field := range []string{"name", "kelvin", "tint", "lens", "settingsAre"} {
		if v.Field(field).Conflict {
			return v, fmt.Errorf("%w: %s of clip %s has two values; choose one of them first", ErrMoved, field, id)
		}
	}
	return v, nil
}

// settings writes what the files of sure clips say otherwise than the log.
func (a *adopter) settings() error {
	logged := map[logbook.ID]string{}
	for _, c := range a.joined.Clips {
		logged[c.Clip] = c.Logged
	}
	for _, d := range a.joined.Settings {
		if d.Result != Sure {
			continue
		}
		v, err := a.found(d.Clip, logged[d.Clip])
		if err != nil {
			return err
		}
		if now := settingsOf(v.Value); d.File.Kelvin != "" && now.Kelvin != d.Log.Kelvin || d.File.Tint != "" && now.Tint != d.Log.Tint ||
			d.File.Lens != "" && now.Lens != d.Log.Lens {
			return fmt.Errorf("%w: the settings of clip %s are others now", ErrMoved, d.Clip)
		}
		var changes []logbook.Change
		for _, s := range []struct {
			field string
			value logbook.Value
		}{{"kelvin", logbook.Value(d.File.Kelvin)}, {"tint", logbook.Value(d.File.Tint)}, {"lens", lensValue(d.File.Lens)}} {
			if s.value != "" {
				changes = append(changes, logbook.Replace(v, s.field, s.value))
			}
		}
		if d.File.Kelvin != "" || d.File.Tint != "" {
			changes = append(changes, logbook.Replace(v, "settingsAre", fromFile))
		}
		a.drafts = append(a.drafts, v.Drafts(changes)...)
	}
	return nil
}

func lensValue(text string) logbook.Value {
	if text == "" {
		return ""
	}
	return logbook.TextValue(text)
}
