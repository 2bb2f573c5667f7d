package handset

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// color says what a reading or a grey card says: one that is in the log, or one that
// somebody is typing.
func (e *Engine) color(s *said, _ []byte) (any, []byte, error) {
	b := e.book()
	if s.has("typed") {
		kind, object, now := s.kind(), s.object("typed"), s.now()
		if kind != kinds.Reading && kind != kinds.Sample {
			s.wrong("kind", logbook.TextValue(string(kind)), "reading or sample")
		}
		if err := s.fault(); err != nil {
			return nil, nil, err
		}
		changes, err := amend.Changes(kind, object)
		if err != nil {
			return nil, nil, err
		}
		scratch, typed, err := e.scratch(kind, changes, now)
		if err != nil {
			return nil, nil, err
		}
		if kind == kinds.Sample {
			answer, err := cameras.ColorOfSample(scratch, typed, now)
			return &answer, nil, err
		}
		answer, err := lighting.ColorOfReading(scratch, typed, lighting.SpectralReference{})
		return &answer, nil, err
	}
	if s.has("sample") {
		return about(e, s, "sample", cameras.ColorOfSample)
	}
	reading := s.id("reading")
	var reference lighting.SpectralReference
	if text := s.textOr("reference", ""); text != "" {
		var ok bool
		if reference, ok = lighting.ReadSpectralReference(text); !ok {
			s.wrong("reference", logbook.TextValue(text), "tungsten, daylight, blackBody or the id of a reading")
		}
	}
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	answer, err := lighting.ColorOfReading(b, reading, reference)
	return &answer, nil, err
}

// typing is under what an edit stands that nobody wrote.
var typing = logbook.Dot{Line: logbook.Line{0: 0xff, 7: 1}, N: 1}

// scratch is a book of what somebody is typing and of what it refers to, directly or through
// one more record; the book itself cannot forget what it was told.
func (e *Engine) scratch(kind logbook.Kind, changes []logbook.Change, now logbook.Millis) (*logbook.Book, logbook.ID, error) {
	typed := idsOf(now, []byte("typing"))()
	edit := &logbook.Edit{Production: e.production, Kind: kind, Record: typed, Device: e.device, Dot: typing, At: now,
		Set: changes}
	if _, err := logbook.EncodeEdit(edit); err != nil {
		return nil, logbook.ID{}, err
	}
	b := logbook.NewBook(e.production, kinds.Rules)
	if err := b.Apply(edit); err != nil {
		return nil, logbook.ID{}, err
	}
	e.lend(b, logbook.IDValue(e.production), 0)
	for _, c := range changes {
		e.lend(b, c.Value, 2)
	}
	b.Settle()
	return b, typed, nil
}

// lend gives a book the records whose ids stand in a value, and so many steps on.
func (e *Engine) lend(to *logbook.Book, value logbook.Value, steps int) {
	for item := range value.Items() {
		e.lend(to, item, steps)
	}
	for _, member := range value.Members() {
		e.lend(to, member, steps)
	}
	id, ok := value.ID()
	if _, known := to.Record(id); !ok || known {
		return
	}
	v, ok := e.book().Record(id)
	if !ok {
		return
	}
	for _, edit := range v.Edits() {
		_ = to.Apply(edit)
	}
	for _, value := range v.Values() {
		if steps > 0 {
			e.lend(to, value, steps-1)
		}
	}
}

// still averages the patch of a still that the browser decoded and the person drew: in are
// its pixels alone, row by row, four bytes each, of which the fourth is not looked at. width
// and height are those of the patch, x and y its place in the picture.
func (e *Engine) still(s *said, in []byte) (any, []byte, error) {
	const most = 1 << 24
	asked := cameras.StillQuery{Encoding: s.text("encoding"), Primaries: s.text("primaries"), Range: s.textOr("range", "full"), Bits: 8,
		X: int(s.whole("x", 0, most)), Y: int(s.whole("y", 0, most)), Width: int(s.whole("width", 1, most)),
		Height: int(s.whole("height", 1, most))}
	of := [2]int{int(s.whole("pictureWidth", 1, most)), int(s.whole("pictureHeight", 1, most))}
	format := s.textOr("format", "")
	if s.has("gamma") {
		asked.Gamma = logbook.FloatOf(s.v.Member("gamma"))
	}
	if (asked.Encoding == "power") != (asked.Gamma != 0) {
		s.wrong("gamma", s.v.Member("gamma"), "a number from 1 to 3 beside the encoding power, and none beside others")
	}
	if asked.X > of[0]-asked.Width || asked.Y > of[1]-asked.Height {
		s.wrong("x", s.v.Member("x"), fmt.Sprintf("a rectangle inside the picture, which is %d by %d pixels", of[0], of[1]))
	}
	if s.err == nil && len(in) != 4*asked.Width*asked.Height {
		s.wrong("bytes", logbook.Value(fmt.Sprint(len(in))),
			fmt.Sprintf("%d: four for each pixel of the patch", 4*asked.Width*asked.Height))
	}
	if err := s.fault(); err != nil {
		return nil, nil, err
	}
	patch, err := cameras.NewStillPatch(asked)
	if err != nil {
		return nil, nil, err
	}
	for i := 0; i < len(in); i += 4 {
		at := i / 4
		if err := patch.Add(at%asked.Width, at/asked.Width, [3]float64{float64(in[i]), float64(in[i+1]), float64(in[i+2])}); err != nil {
			return nil, nil, err
		}
	}
	answer, err := patch.Reading()
	answer.Format, answer.Width, answer.Height = format, of[0], of[1]
	return &answer, nil, err
}
