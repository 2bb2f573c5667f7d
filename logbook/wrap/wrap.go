package wrap

import (
	"fmt"
	"net/url"
	"slices"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/setup"
)

// WrapCheck is what is open of a day.
type WrapCheck struct {
	Production string     `json:"production"` // its title
	Day        logbook.ID `json:"day"`
	DayWords   string     `json:"dayWords"` // "day 3, 2026-03-06"
	At         time.Time  `json:"at"`       // when it was asked
	AtLocal    string     `json:"atLocal"`  // the same by the clock on the set
	// ClosedAt is when the day was closed; absent: it is open.
	ClosedAt *time.Time `json:"closedAt,omitempty"`
	Words    string     `json:"words"` // "5 things are open", "Nothing is open"
	Items    []WrapItem `json:"items"` // what could be lost first
}

// WrapItem is one thing that is open, and one step from its cure.
type WrapItem struct {
	Kind  string `json:"kind"`
	Words string `json:"words"` // what is open, since when
	ToDo  string `json:"toDo"`
	// Address leads to the place in the app that cures it: what stands behind the app's own address.
	Address   string       `json:"address"`
	SetUp     logbook.ID   `json:"setUp,omitzero"`
	SetUpName string       `json:"setUpName,omitempty"`
	Count     int          `json:"count"`
	Records   []logbook.ID `json:"records"` // that it rests on
}

// The kinds of items, in the order in which they stand.
const (
	UnsentWork     = "unsent-work"
	PhoneNotHeard  = "phone-not-heard"
	EditsMissing   = "edits-missing"
	Undecided      = "undecided"
	ChosenApart    = "chosen-apart"
	OneOrTwo       = "one-or-two"
	NoWhite        = "no-white"
	NoReading      = "no-reading"
	OldReading     = "old-reading"
	NoGreyCard     = "no-grey-card"
	NameNotSure    = "name-not-sure"
	QuestionOpen   = "question-open"
	DayNotClosed   = "day-not-closed"
	mostWithinItem = 1000 // records that are listed of an item
)

// Kinds are all of them.
var Kinds = []string{UnsentWork, PhoneNotHeard, EditsMissing, Undecided, ChosenApart, OneOrTwo, NoWhite, NoReading, OldReading, NoGreyCard,
	NameNotSure, QuestionOpen, DayNotClosed}

// A Phone is a device that may write in the production, as the server knows it.
type Phone struct {
	Device logbook.ID
	Label  string
	Unsent *int           // what it said it holds that no server has; nil: it never said
	Heard  logbook.Millis // 0: never since it was paired
	Own    bool           // the server itself, which sends nothing
}

// Known is what others than the log know: the server of its phones.
type Known struct {
	Phones []Phone
	// Missing are edits that are known of and not here, by who may bring them.
	Missing []Missing
}

// Missing are edits that are known of and not here.
type Missing struct {
	Count   uint64
	Holders []string // devices by name
}

// Of looks at a day. Errors wrap logbook.ErrNoRecord.
func Of(b *logbook.Book, day logbook.ID, known Known, now logbook.Millis) (WrapCheck, error) {
	view, err := logbook.FindRecord(b, kinds.Day, "day", day)
	if err != nil {
		return WrapCheck{}, err
	}
	c := &check{book: b, day: view, known: known, now: now, zone: rigging.ZoneOf(b, view.ID), setUps: b.Referring(kinds.SetUp, "day", view.ID)}
	c.phones()
	c.undecided()
	c.deviations()
	c.names()
	c.questions()
	c.closing()
	slices.SortStableFunc(c.items, func(x, y WrapItem) int { return slices.Index(Kinds, x.Kind) - slices.Index(Kinds, y.Kind) })
	out := WrapCheck{Production: rigging.TitleOf(b), Day: view.ID, DayWords: rigging.DayWords(b, view.ID), At: now.Time(),
		AtLocal: rigging.DateClock(now, c.zone), Items: c.items, Words: "Nothing is open"}
	if at, ok := setup.ClosedSince(view); ok {
		closed := at.Time()
		out.ClosedAt = &closed
	}
	if n := len(c.items); n > 0 {
		out.Words = figure.Counted(n, "thing") + " open"
	}
	if out.Items == nil {
		out.Items = []WrapItem{}
	}
	return out, nil
}

// check is a day that is looked at.
type check struct {
	book   *logbook.Book
	day    logbook.View
	known  Known
	now    logbook.Millis
	zone   *time.Location
	setUps []logbook.View
	items  []WrapItem
}

func (c *check) clock(at logbook.Millis) string { return figure.ClockIn(at.Time(), c.zone) }

// add adds an item; of a set-up, unless that is none.
func (c *check) add(kind string, setUp logbook.View, item WrapItem) {
	item.Kind = kind
	if item.Count == 0 {
		item.Count = max(1, len(item.Records))
	}
	if setUp.Known() {
		item.SetUp, item.SetUpName = setUp.ID, lighting.SetUpName(c.book, setUp)
	}
	if item.Records == nil {
		item.Records = []logbook.ID{}
	}
	item.Records = item.Records[:min(len(item.Records), mostWithinItem)]
	c.items = append(c.items, item)
}

// to is the address of a place in the app, such as takes/take, and what it is about.
func (c *check) to(place string, setUp logbook.ID, about ...any) string {
	q := url.Values{"production": {c.book.Production().String()}}
	if !setUp.IsZero() {
		q.Set("setUp", setUp.String())
	}
	for i := 0; i < len(about); i += 2 {
		if text := fmt.Sprint(about[i+1]); text != (logbook.ID{}).String() {
			q.Set(fmt.Sprint(about[i]), text)
		}
	}
	return "#" + place + "?" + q.Encode()
}

// closing: a day stays open until somebody says that it is over.
func (c *check) closing() {
	if _, ok := setup.ClosedSince(c.day); ok {
		return
	}
	words := "the day is not closed"
	if c.day.Field("closed").Conflict {
		words = "people disagree whether the day is closed"
	}
	c.add(DayNotClosed, logbook.View{}, WrapItem{Words: words, ToDo: "close the day, once all else here is done",
		Address: c.to("handover/prep", logbook.ID{}, "kind", "day", "record", c.day.ID), Records: []logbook.ID{c.day.ID}})
}
