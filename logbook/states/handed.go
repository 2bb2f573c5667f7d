package states

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// A Keeper keeps small values, as a logbook.Store does.
type Keeper interface {
	Keep(name string, value []byte) error
	Kept(name string) ([]byte, error)
	KeptUnder(prefix string) ([]logbook.KeptValue, error)
}

// The states that were handed out are kept, so that one is found by what stands on paper. Each is
// kept as when it was handed out first, in milliseconds, and its name.
const (
	handedPrefix = "state/"
	mostHanded   = 100 // of a production; the oldest is forgotten
)

// ErrUnknown is wrapped by errors about a short name of no state that was handed out here.
var ErrUnknown = errors.New("no state of this name was handed out here")

// Hand keeps that a state was handed out.
func Hand(k Keeper, production logbook.ID, s State, now logbook.Millis) error {
	prefix := handedPrefix + production.String() + "/"
	if known, err := k.Kept(prefix + s.Key()); known != nil || err != nil {
		return err
	}
	all, err := k.KeptUnder(prefix)
	if err != nil {
		return err
	}
	if len(all) >= mostHanded {
		oldest := slices.MinFunc(all, func(a, b logbook.KeptValue) int { return int(handedAt(a) - handedAt(b)) })
		if err := k.Keep(oldest.Name, nil); err != nil {
			return err
		}
	}
	return k.Keep(prefix+s.Key(), fmt.Appendf(nil, "%d %s", now, s))
}

func handedAt(v logbook.KeptValue) int64 {
	at, _, _ := strings.Cut(string(v.Value), " ")
	n, _ := strconv.ParseInt(at, 10, 64) // what is no number is the oldest
	return n
}

// Find finds a state by its whole name; by its digest or its words where it is that of now or was
// handed out here.
func Find(k Keeper, production logbook.ID, text string, now State) (State, error) {
	text = strings.Join(strings.Fields(strings.ToLower(text)), " ")
	s, err := Parse(text)
	short := err == nil && len(s.Held) == 0 || len(strings.Fields(text)) == wordCount
	switch {
	case err != nil && !short:
		return State{}, err
	case !short:
		return s, nil
	case text == now.Key() || text == now.Words():
		return now, nil
	}
	all, err := k.KeptUnder(handedPrefix + production.String() + "/")
	if err != nil {
		return State{}, err
	}
	for _, v := range all {
		_, name, _ := strings.Cut(string(v.Value), " ")
		if s, err := Parse(name); err == nil && (text == s.Key() || text == s.Words()) {
			return s, nil
		}
	}
	return State{}, fmt.Errorf("%w: %q; give its whole name, which stands in the document", ErrUnknown, logbook.Shorten(text))
}
