package api

import (
	"sync"

	"github.com/labstack/echo/v4"

	"evenwhite/api/page"
	"evenwhite/openapi"
)

// GetAbout serves the page of the server itself. It says how it is in the words of readyz.
func (s *service) GetAbout(c echo.Context, _ openapi.GetAboutParams) error {
	state := page.State{Program: s.Program}
	var err error
	if state.Warnings, _, err = s.readiness(); err != nil {
		state.Failed = problemOf(err).Detail
	}
	text, err := page.About(state)
	if err != nil {
		return err
	}
	return servePage(c, text)
}

var contractPage = sync.OnceValues(func() ([]byte, error) {
	document, err := openapi.Load()
	if err != nil {
		return nil, err
	}
	return page.Contract(document)
})

// GetContractPage serves the contract as a page.
func (s *service) GetContractPage(c echo.Context, _ openapi.GetContractPageParams) error {
	text, err := contractPage()
	if err != nil {
		return err
	}
	return servePage(c, text)
}

func servePage(c echo.Context, text []byte) error {
	c.Response().Header().Set("Content-Security-Policy", page.Policy)
	return document(c, "text/html; charset=utf-8", text)
}
