package review

import (
	"encoding/base64"
	"strconv"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
)

// mostOfGroup is how many records and answers of a group are listed, and how many records
// a page has in all: a group alone may have more.
const mostOfGroup = 1000

// A TwinGroup is records that may be the same thing logged several times.
type TwinGroup struct {
	Kind    logbook.Kind    `json:"kind"`
	SetUp   logbook.ID      `json:"setUp,omitzero"`
	Run     logbook.ID      `json:"run"`
	Count   int             `json:"count"`
	Records []TwinRecord    `json:"records"`
	Two     [][2]logbook.ID `json:"two,omitempty"`
}

// A TwinRecord says enough of a record to tell it from its twins.
type TwinRecord struct {
	ID     logbook.ID `json:"id"`
	MadeBy string     `json:"madeBy"`
	MadeAt time.Time  `json:"madeAt"`
	Device logbook.ID `json:"device"`
}

// A TwinsPage is a page of groups.
type TwinsPage struct {
	Twins []TwinGroup `json:"twins"`
	Next  string      `json:"next,omitempty"`
}

// Twins is the page behind a cursor; nil is the first. The error wraps ErrCursor.
func Twins(b *logbook.Book, cursor *string, limit int) (TwinsPage, error) {
	page, records := TwinsPage{Twins: []TwinGroup{}}, 0
	after, err := readTwinPlace(cursor)
	if err != nil {
		return page, err
	}
	found := amend.TwinsFrom(b, after, limit+1)
	for i, g := range found {
		if records += len(g.Records); i == limit || i > 0 && records > mostOfGroup {
			page.Next = twinPlaceText(found[i-1])
			break
		}
		page.Twins = append(page.Twins, listed(b, g))
	}
	return page, nil
}

func listed(b *logbook.Book, g amend.TwinGroup) TwinGroup {
	out := TwinGroup{Kind: g.Kind, SetUp: g.SetUp, Run: g.Run, Count: len(g.Records), Two: g.Two[:min(len(g.Two), mostOfGroup)]}
	for _, id := range g.Records[:min(len(g.Records), mostOfGroup)] {
		v, _ := b.RecordOf(g.Kind, id)
		made := v.Created()
		out.Records = append(out.Records, TwinRecord{id, made.By, made.Corrected().Time(), made.Device})
	}
	return out
}

// twinPlaceText is the place of a group as a cursor.
func twinPlaceText(g amend.TwinGroup) string {
	p := g.Place()
	return base64.RawURLEncoding.EncodeToString([]byte(p.ID.String() + " " + strconv.FormatUint(p.Key, 16) + " " + string(g.Kind)))
}

func readTwinPlace(text *string) (amend.TwinPlace, error) {
	if text == nil {
		return amend.TwinPlace{Kind: -1}, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(*text)
	if err != nil {
		return amend.TwinPlace{}, ErrCursor
	}
	id, rest, _ := strings.Cut(string(b), " ")
	number, kind, _ := strings.Cut(rest, " ")
	parsed, err := logbook.ParseID(id)
	if err != nil {
		return amend.TwinPlace{}, ErrCursor
	}
	key, err := strconv.ParseUint(number, 16, 64)
	if _, known := kinds.Of(logbook.Kind(kind)); err != nil || !known {
		return amend.TwinPlace{}, ErrCursor
	}
	return amend.PlaceOfTwins(logbook.Kind(kind), parsed, key), nil
}
