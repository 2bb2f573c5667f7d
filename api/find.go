package api

import (
	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/openapi"
)

// FindClips finds clips by name, timecode, place or what is off.
func (s *service) FindClips(c echo.Context, production openapi.ProductionParameter, params openapi.FindClipsParams) error {
	said := func(text *string) string {
		if text == nil {
			return ""
		}
		return *text
	}
	q := glance.ClipQuery{
		Name: said(params.Name), Camera: said(params.Camera), Card: said(params.Card), Scene: said(params.Scene), Take: said(params.Take),
		From: said(params.TimecodeFrom), To: said(params.TimecodeTo), Deviation: said(params.Deviation),
		Least: said(params.Least),
		Day:   optionalID(params.DayFilterParameter), SetUp: optionalID(params.SetUpFilterParameter),
	}
	look := func(b *logbook.Book) (glance.ClipList, error) { return glance.SearchClips(b, q, nil) }
	r := read(s, production, look) // what cannot be asked is said at once
	if r.err != nil || !q.AsksWhatIsOff() {
		return r.answer(c)
	}
	l, err := s.log(production)
	if err != nil {
		return err
	}
	r.value, r.err = s.off.search(l, q, s.now())
	return r.answer(c)
}
