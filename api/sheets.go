package api

import (
	"bytes"
	"io"
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/paper"
	"evenwhite/logbook/picture"
	"evenwhite/logbook/rebuild"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/slate"
	"evenwhite/openapi"
)

// GetRebuild answers a set-up as it was rigged at a take.
func (s *service) GetRebuild(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetRebuildParams,
) error {
	return s.rebuild(production, setUp, params.SheetTakeParameter).answer(c)
}

// GetRebuildPage writes it for people and paper.
func (s *service) GetRebuildPage(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetRebuildPageParams,
) error {
	r := s.rebuild(production, setUp, params.SheetTakeParameter)
	return sheet(s, c, production, r, "rebuild "+r.value.Name+" "+r.value.TakeName, paper.Rebuild)
}

func (s *service) rebuild(
	production openapi.ProductionParameter, setUp openapi.SetUpParameter, take *openapi.SheetTakeParameter,
) result[rebuild.RebuildSheet] {
	return read(s, production, func(b *logbook.Book) (rebuild.RebuildSheet, error) {
		return rebuild.Of(b, rebuild.Query{SetUp: logbook.ID(setUp), Take: optionalID(take)}, s.now())
	})
}

// GetApart answers how a set-up lies from its model.
func (s *service) GetApart(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetApartParams,
) error {
	return s.apart(production, setUp, params).answer(c)
}

// GetApartPage writes it for people and paper.
func (s *service) GetApartPage(
	c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter, params openapi.GetApartPageParams,
) error {
	r := s.apart(production, setUp, openapi.GetApartParams(params))
	return sheet(s, c, production, r, "apart "+r.value.Here.Name+" "+r.value.Model.Name, paper.Apart)
}

func (s *service) apart(
	production openapi.ProductionParameter, setUp openapi.SetUpParameter, asked openapi.GetApartParams,
) result[rebuild.SetUpsApart] {
	return read(s, production, func(b *logbook.Book) (rebuild.SetUpsApart, error) {
		here := rebuild.Query{SetUp: logbook.ID(setUp), Take: optionalID(asked.SheetTakeParameter)}
		model := rebuild.Query{SetUp: optionalID(asked.SheetModelParameter), Take: optionalID(asked.SheetModelTakeParameter)}
		return rebuild.Compare(b, here, model, s.now())
	})
}

// GetContinuity answers the set-ups of a scene side by side.
func (s *service) GetContinuity(c echo.Context, production openapi.ProductionParameter, scene openapi.SceneParameter) error {
	return about(s, production, scene, rebuild.OfScene).answer(c)
}

// GetContinuityPage writes them for people and paper.
func (s *service) GetContinuityPage(c echo.Context, production openapi.ProductionParameter, scene openapi.SceneParameter) error {
	r := about(s, production, scene, rebuild.OfScene)
	return sheet(s, c, production, r, "continuity "+r.value.Name, paper.Scene)
}

// GetRigging answers how the lights of a set-up or a day are rigged.
func (s *service) GetRigging(c echo.Context, production openapi.ProductionParameter, params openapi.GetRiggingParams) error {
	return s.rigging(production, params).answer(c)
}

// GetRiggingPage writes it for people and paper.
func (s *service) GetRiggingPage(c echo.Context, production openapi.ProductionParameter, params openapi.GetRiggingPageParams) error {
	r := s.rigging(production, openapi.GetRiggingParams(params))
	return sheet(s, c, production, r, "rigging "+r.value.DayWords, paper.Rigging)
}

func (s *service) rigging(production openapi.ProductionParameter, asked openapi.GetRiggingParams) result[rigging.RiggingList] {
	return read(s, production, func(b *logbook.Book) (rigging.RiggingList, error) {
		if setUp := optionalID(asked.SetUpFilterParameter); !setUp.IsZero() {
			return rigging.ListOfSetUp(b, setUp, s.now())
		}
		return rigging.ListOfDay(b, dayAsked(b, optionalID(asked.DayFilterParameter)), s.now())
	})
}

// dayAsked is a day, or the latest where none is asked for.
func dayAsked(b *logbook.Book, day logbook.ID) logbook.ID {
	if day.IsZero() {
		day, _ = rigging.LastDay(b)
	}
	return day
}

// sheet writes a result as a page, under the name of a file made of some words.
func sheet[T any](
	s *service, c echo.Context, production openapi.ProductionParameter, r result[T], words string, write func(io.Writer, T) error,
) error {
	if r.err != nil {
		return r.err
	}
	var body bytes.Buffer
	if err := write(&body, r.value); err != nil {
		return err
	}
	named := read(s, production, func(b *logbook.Book) ([2]string, error) {
		v, _ := b.RecordOf(kinds.Production, b.Production())
		if !v.Known() {
			return [2]string{}, nil
		}
		return [2]string{v.Text("title"), slate.ShortName(v)}, nil
	})
	if named.err != nil {
		return named.err
	}
	h := c.Response().Header()
	h.Set("Content-Disposition", disposition(named.value[0], named.value[1], logbook.ID(production), fileWords(words)+".html"))
	h.Set("Content-Security-Policy", picture.Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store")
	return c.Blob(http.StatusOK, paper.Media, body.Bytes())
}
