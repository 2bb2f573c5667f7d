package setup

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A Rival is a white that was chosen apart from the one that is shown, and counts as much.
type Rival struct {
	White     logbook.ID `json:"white"`
	Words     string     `json:"words"` // "nominal 3200 K"
	Since     string     `json:"since"`
	By        string     `json:"by"` // who entered it
	DecidedBy string     `json:"decidedBy,omitempty"`
	DecidedAt time.Time  `json:"decidedAt"`
}

// Rival is a white as one of those that were chosen apart.
func (w *White) Rival() Rival {
	return Rival{White: w.White, Words: w.Words, Since: w.Since, By: w.by, DecidedBy: w.DecidedBy, DecidedAt: w.DecidedAt}
}

// contest notes the whites that count beside one.
func (w *White) contest(others []White) {
	if len(others) == 0 {
		return
	}
	w.Contested = nil
	for _, o := range others {
		w.Contested = append(w.Contested, o.Rival())
	}
	w.ContestedWords = "contested: " + strings.Join(namesApart(append([]White{*w}, others...)), " or ")
}

// namesApart names whites as briefly as they can be told apart.
func namesApart(whites []White) []string {
	for _, name := range []func(White) string{
		func(w White) string {
			if w.Color == nil || w.Color.CCTKelvin == nil {
				return w.Words
			}
			return fmt.Sprintf("%.0f K", *w.Color.CCTKelvin)
		},
		func(w White) string {
			if w.Color == nil {
				return w.Words
			}
			return w.Color.Words
		},
		func(w White) string {
			if cast := w.IntendedCast; w.Color != nil {
				return fmt.Sprintf("%s with a cast of %+g mired, %+g Duv", w.Color.Words, cast.Mired, cast.Duv)
			}
			return w.Words
		},
	} {
		names := make([]string, len(whites))
		for i, w := range whites {
			names[i] = name(w)
		}
		if sorted := slices.Sorted(slices.Values(names)); len(slices.Compact(sorted)) == len(names) {
			return names
		}
	}
	names := make([]string, len(whites))
	for i, w := range whites {
		names[i] = w.Words + " (" + w.by + ")"
	}
	return names
}

// Whites are all that count in a period: one, none, or several that were chosen apart, the
// one that is shown first. A verdict that rests on the white holds where it holds by each.
func (p *Period) Whites() []White {
	if !p.White.Known() {
		return nil
	}
	return append([]White{p.InForce}, p.Contested...)
}

// Aims are the aims of a camera in a period by each white that counts, the one that is shown
// first; one without an aim where there is no white.
func (s *SetUp) Aims(p *Period, camera logbook.ID) []Aim {
	if len(p.Contested) == 0 {
		return []Aim{s.Aim(p, camera)}
	}
	all, ok := p.byEach[camera]
	if !ok {
		all = []Aim{s.Aim(p, camera)}
		for _, w := range p.Contested {
			all = append(all, AimFor(s.book, w, camera))
		}
		p.byEach[camera] = all
	}
	return all
}

// An Apart is a question that stays open: records that were entered by people who did not
// know of each other, and that can't both hold.
type Apart struct {
	Kind    logbook.Kind // white or reading
	SetUp   logbook.ID
	Choices []Choice     // the latest first: the one that is shown
	Takes   []logbook.ID // that it touches, by time
	Next    bool         // it also touches the take that comes next
	Words   string
}

// A Choice is one of the records of an Apart.
type Choice struct {
	Record logbook.ID
	Words  string
	Edit   *logbook.Edit // that made it
}

// ApartIn lists the whites, and the readings that replace one, that were entered apart, by
// set-up in the order in which they were made.
func ApartIn(b *logbook.Book, now logbook.Millis) (all []Apart) {
	return apartWhere(b, now, func(logbook.View) bool { return true })
}

// ApartOn is ApartIn of the set-ups of one day.
func ApartOn(b *logbook.Book, day logbook.ID, now logbook.Millis) (all []Apart) {
	return apartWhere(b, now, func(setUp logbook.View) bool { return setUp.Ref("day") == day })
}

func apartWhere(b *logbook.Book, now logbook.Millis, asked func(setUp logbook.View) bool) (all []Apart) {
	r, x := NewReader(b), apartOf(b)
	for _, setUp := range x.setUps(b) {
		if !asked(setUp) {
			continue
		}
		if whites := WhitesOf(b, setUp.ID); len(whites) > 1 && mayBeApart(b, setUp.ID, whites) {
			all = append(all, r.Read(setUp, now).whitesApart()...)
		}
	}
	replacing := slices.DeleteFunc(x.readings(b), func(v logbook.View) bool {
		setUp, _ := b.RecordOf(kinds.SetUp, v.Ref("setUp"))
		return !asked(setUp)
	})
	return append(all, readingsApart(b, replacing)...)
}

// whitesApart lists the whites of the set-up that are contested somewhere.
func (s *SetUp) whitesApart() (all []Apart) {
	for _, p := range s.periods {
		if len(p.Contested) == 0 || len(p.Takes) == 0 && p != s.current {
			continue
		}
		a := Apart{Kind: kinds.White, SetUp: s.setUp.ID, Next: p == s.current, Words: p.InForce.ContestedWords}
		for _, w := range p.Whites() {
			v, _ := s.book.RecordOf(kinds.White, w.White)
			a.Choices = append(a.Choices, Choice{w.White, fmt.Sprintf("%s, from %s", w.Words, w.Since), v.Created()})
		}
		for _, take := range p.Takes {
			a.Takes = append(a.Takes, take.ID)
		}
		all = append(all, a)
	}
	return all
}

// readingsApart lists readings that replace one and the same, do not say the same, and do not
// know of each other, of those that replace one.
func readingsApart(b *logbook.Book, replacing []logbook.View) (all []Apart) {
	left := map[logbook.ID][]logbook.View{} // by what they replace in the end
	var order []logbook.ID
	for _, v := range replacing {
		if v.Ref("supersedes").IsZero() || lighting.Withdrawn(v) || slices.ContainsFunc(b.Referring(kinds.Reading, "supersedes", v.ID),
			func(by logbook.View) bool { return !lighting.Withdrawn(by) }) {
			continue
		}
		root := v
		for seen := (logbook.IDSet{}); !seen[root.ID]; {
			seen.Add(root.ID)
			if before, ok := b.RecordOf(kinds.Reading, root.Ref("supersedes")); ok {
				root = before
			}
		}
		if left[root.ID] == nil {
			order = append(order, root.ID)
		}
		left[root.ID] = append(left[root.ID], v)
	}
	for _, id := range order {
		some := left[id]
		slices.SortFunc(some, func(x, y logbook.View) int {
			if logbook.Before(y.Created(), x.Created()) {
				return -1
			}
			return 1
		})
		a := Apart{Kind: kinds.Reading, SetUp: some[0].Ref("setUp"), Words: "two readings replace the same one"}
		var said []logbook.View
		for _, v := range some {
			if slices.ContainsFunc(said, func(o logbook.View) bool { return saysTheSame(o, v) }) {
				continue
			}
			said = append(said, v)
			m, words := lighting.Read(b, v), ""
			if words = m.Problem; m.Color != nil {
				words = m.Color.Words
			}
			a.Choices = append(a.Choices, Choice{v.ID, m.Name(b) + ": " + words, v.Created()})
		}
		if len(a.Choices) > 1 {
			all = append(all, a)
		}
	}
	return all
}

func saysTheSame(a, b logbook.View) bool {
	return a.Value("measured").Equal(b.Value("measured")) && a.Value("illuminance").Equal(b.Value("illuminance"))
}
