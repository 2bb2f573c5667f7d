package api

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"net/http"
	"os"
	"runtime/debug"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/quota"
	"evenwhite/api/still"
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/openapi"
)

// stillTime is how long a still may take to arrive: 40 MiB at 250 kB/s.
const stillTime = 3 * time.Minute

// passTime is for what is read and not kept.
const passTime = 20 * time.Second

// A stillDoor bounds what stills take together. Each is read first, as slowly as its
// sender may be, and what is held of it is counted as it comes; then one is decoded at a
// time, for which only stills wait that are whole.
type stillDoor struct {
	coming   *quota.Budget // stills that are read or wait
	bytes    *quota.Budget // of theirs
	decoding chan struct{}
}

const (
	stillsAtOnce     = 64
	stillsEach       = 2
	stillBytesAtOnce = 256 << 20
	stillBytesEach   = 128 << 20 // a still, and its double while it is read
)

func newStillDoor() stillDoor {
	return stillDoor{quota.NewBudget(stillsAtOnce, stillsEach), quota.NewBudget(stillBytesAtOnce, stillBytesEach), make(chan struct{}, 1)}
}

// decode has one still measured at a time. What a decoder leaves behind is as large as the
// picture was, and is given back before the next comes.
func (d *stillDoor) decode(ctx context.Context, measure func() (cameras.StillReading, error)) (cameras.StillReading, error) {
	select {
	case d.decoding <- struct{}{}:
	case <-ctx.Done():
		return cameras.StillReading{}, ctx.Err()
	}
	defer func() { <-d.decoding }()
	defer debug.FreeOSMemory()
	return measure()
}

// ReadStill answers what a patch of a still says, and stores nothing.
func (s *service) ReadStill(c echo.Context, production openapi.ProductionParameter, params openapi.ReadStillParams) error {
	if _, err := s.log(production); err != nil {
		return err
	}
	reading, err := s.measured(c, stillQuery(params))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, &reading)
}

// CheckStill holds a frame of a clip against what the log says of it, and stores nothing.
func (s *service) CheckStill(
	c echo.Context, production openapi.ProductionParameter, clip openapi.RecordParameter, params openapi.CheckStillParams,
) error {
	known := func(b *logbook.Book) (logbook.View, error) {
		return logbook.FindRecord(b, kinds.Clip, "record", logbook.ID(clip))
	}
	if r := read(s, production, known); r.err != nil {
		return r.err
	}
	asked := stillQuery(openapi.ReadStillParams(params))
	reading, err := s.measured(c, asked)
	if err != nil {
		return err
	}
	return read(s, production, func(b *logbook.Book) (advice.StillCheck, error) {
		return advice.CheckStill(b, logbook.ID(clip), asked, reading)
	}).answer(c)
}

// measured reads a patch of the still that is sent.
func (s *service) measured(c echo.Context, asked cameras.StillQuery) (cameras.StillReading, error) {
	who := asker(c)
	if !s.stills.coming.Take(who, 1) {
		return cameras.StillReading{}, passOver(c, quota.ErrBusy)
	}
	defer s.stills.coming.Give(who, 1)
	body, done, err := s.readStillBody(c, who)
	defer done()
	if err != nil {
		return cameras.StillReading{}, err
	}
	return s.stills.decode(c.Request().Context(), func() (cameras.StillReading, error) { return MeasureStill(body, asked) })
}

// passOver reads what a sender is sending and keeps nothing of it: most hear an answer only
// when they are through.
func passOver(c echo.Context, answer error) error {
	if err := supported(http.NewResponseController(c.Response()).SetReadDeadline(time.Now().Add(passTime))); err != nil {
		return err
	}
	_, _ = io.Copy(io.Discard, c.Request().Body)
	return answer
}

func (s *service) readStillBody(c echo.Context, who string) (body []byte, done func(), err error) {
	if err := supported(http.NewResponseController(c.Response()).SetReadDeadline(time.Now().Add(stillTime))); err != nil {
		return nil, func() {}, err
	}
	body, done, err = s.stills.bytes.Read(who, c.Request().Body)
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		err = fmt.Errorf("%w: at most %d MiB are taken here", ErrTooLarge, tooLarge.Limit>>20)
	case errors.Is(err, os.ErrDeadlineExceeded):
		err = fmt.Errorf("%w: a still has %s", ErrSlow, stillTime)
	case errors.Is(err, quota.ErrBusy):
		err = passOver(c, err)
	case err != nil:
		err = &Wrong{Detail: "the body could not be read to its end"}
	}
	return body, done, err
}

func stillQuery(p openapi.ReadStillParams) cameras.StillQuery {
	a := cameras.StillQuery{Encoding: p.StillEncodingParameter, Primaries: p.StillPrimariesParameter, Range: "full",
		X: p.StillXParameter, Y: p.StillYParameter, Width: p.StillWidthParameter, Height: p.StillHeightParameter}
	if p.StillRangeParameter != nil {
		a.Range = *p.StillRangeParameter
	}
	if p.StillGammaParameter != nil {
		a.Gamma = *p.StillGammaParameter
	}
	return a
}

// MeasureStill reads a patch of a still: it looks at the file, holds the rectangle against
// it, and averages. Bits are the file's own. Errors name the field, or wrap those of
// colorimetry about patches.
func MeasureStill(body []byte, asked cameras.StillQuery) (cameras.StillReading, error) {
	if (asked.Encoding == "power") != (asked.Gamma != 0) {
		return cameras.StillReading{}, wrong("gamma", fmt.Sprint(asked.Gamma),
			"a number from 1 to 3 beside the encoding power, and none beside others")
	}
	f, err := still.Look(body)
	if err != nil {
		return cameras.StillReading{}, stillWrong(err)
	}
	if asked.X > f.Width-asked.Width {
		return cameras.StillReading{}, wrong("x", fmt.Sprintf("%d and width %d", asked.X, asked.Width),
			fmt.Sprintf("a rectangle inside the picture, which is %d pixels wide", f.Width))
	}
	if asked.Y > f.Height-asked.Height {
		return cameras.StillReading{}, wrong("y", fmt.Sprintf("%d and height %d", asked.Y, asked.Height),
			fmt.Sprintf("a rectangle inside the picture, which is %d pixels high", f.Height))
	}
	asked.Bits = f.Bits
	patch, err := cameras.NewStillPatch(asked)
	if errors.Is(err, colorimetry.ErrPatchSize) {
		return cameras.StillReading{}, wrong("width", fmt.Sprintf("%d and height %d", asked.Width, asked.Height), err.Error())
	}
	if err != nil {
		return cameras.StillReading{}, err
	}
	if err := f.Pixels(image.Rect(asked.X, asked.Y, asked.X+asked.Width, asked.Y+asked.Height), patch.Add); err != nil {
		return cameras.StillReading{}, stillWrong(err)
	}
	reading, err := patch.Reading()
	if err != nil {
		return cameras.StillReading{}, err
	}
	reading.Format, reading.Width, reading.Height = f.Format, f.Width, f.Height
	reading.Warnings = append(reading.Warnings, f.Contradictions(asked.Encoding, patch.Primaries())...)
	if f.Format == "JPEG" {
		reading.Method += "; the JPEG's Y Cb Cr were taken as full range by the matrix of JFIF"
	}
	return reading, nil
}

// stillWrong reports a file that cannot be read as a fault of the body.
func stillWrong(err error) error {
	if errors.Is(err, still.ErrFile) {
		return &Wrong{"the request holds a value that is not allowed", []FieldProblem{{"body", "a still", err.Error()}}}
	}
	return err
}
