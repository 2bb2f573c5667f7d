package review

import (
	"encoding/base64"
	"errors"
	"strconv"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
)

// ErrCursor is wrapped where a cursor is none that was given.
var ErrCursor = errors.New("the cursor is not one that was given here")

// placeText is a place as a cursor.
func placeText(p logbook.Place) string {
	return base64.RawURLEncoding.EncodeToString([]byte(strconv.FormatInt(int64(p.Made), 10) + " " + p.ID.String()))
}

func readPlace(text *string) (logbook.Place, error) {
	if text == nil {
		return logbook.Place{Made: logbook.Beginning}, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(*text)
	if err != nil {
		return logbook.Place{}, ErrCursor
	}
	return placeIn(string(b))
}

// placeIn reads what a cursor says.
func placeIn(says string) (logbook.Place, error) {
	made, id, _ := strings.Cut(says, " ")
	n, err := strconv.ParseInt(made, 10, 64)
	if err != nil {
		return logbook.Place{}, ErrCursor
	}
	parsed, err := logbook.ParseID(id)
	if err != nil {
		return logbook.Place{}, ErrCursor
	}
	return logbook.Place{Made: logbook.Millis(n), ID: parsed}, nil
}

// conflictPlaceText is a place among the conflicts as a cursor.
func conflictPlaceText(p amend.ConflictPlace) string {
	made := strconv.FormatInt(int64(p.Record.Made), 10)
	return base64.RawURLEncoding.EncodeToString([]byte(made + " " + p.Record.ID.String() + " " + string(p.Kind)))
}

func readConflictPlace(text *string) (amend.ConflictPlace, error) {
	if text == nil {
		return amend.ConflictPlace{}, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(*text)
	made, rest, _ := strings.Cut(string(b), " ")
	id, kind, _ := strings.Cut(rest, " ")
	if err != nil || kind == "" {
		return amend.ConflictPlace{}, ErrCursor
	}
	place, err := placeIn(made + " " + id)
	return amend.ConflictPlace{Kind: logbook.Kind(kind), Record: place}, err
}
