package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"evenwhite/colorimetry/spectrumfile"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/lighting"
	"evenwhite/openapi"
)

// ReadSpectrum answers what a file with a spectrum says, and stores nothing.
func (s *service) ReadSpectrum(c echo.Context, production openapi.ProductionParameter) error {
	if _, err := s.log(production); err != nil {
		return err
	}
	spectrum, format, err := spectrumfile.Parse(bodyOf(c))
	if err != nil {
		return wrong("body", string(bodyOf(c)), err.Error())
	}
	reading, err := lighting.ReadSpectrum(spectrum, string(format))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, reading)
}

// GetReadingColor answers what a reading says.
func (s *service) GetReadingColor(
	c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter, params openapi.GetReadingColorParams,
) error {
	return read(s, production, func(b *logbook.Book) (lighting.ReadingColor, error) {
		var reference lighting.SpectralReference
		if text := params.SpectralReferenceParameter; text != nil {
			var ok bool
			if reference, ok = lighting.ReadSpectralReference(*text); !ok {
				return lighting.ReadingColor{}, wrong("reference", *text, "tungsten, daylight, blackBody or the id of a reading")
			}
		}
		return lighting.ColorOfReading(b, logbook.ID(record), reference)
	}).answer(c)
}

// GetPlan answers what to dial on the lamps of a set-up and which gels to put on.
func (s *service) GetPlan(c echo.Context, production openapi.ProductionParameter, setUp openapi.SetUpParameter) error {
	return about(s, production, setUp, advice.Plan).answer(c)
}

// GetSampleColor answers what a grey card says.
func (s *service) GetSampleColor(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return about(s, production, record, cameras.ColorOfSample).answer(c)
}

// GetCorrections answers what to do to the footage of a clip.
func (s *service) GetCorrections(c echo.Context, production openapi.ProductionParameter, record openapi.RecordParameter) error {
	return about(s, production, record, advice.Correct).answer(c)
}
