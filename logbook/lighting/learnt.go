package lighting

import (
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// Learnt is a mean over readings with how far they lie apart.
type Learnt struct {
	Mired       float64          `json:"mired"`       // + warmer
	Duv         float64          `json:"duv"`         // + greener
	SpreadMired float64          `json:"spreadMired"` // of one reading or pair, at least the meter's floor where there is only one
	SpreadDuv   float64          `json:"spreadDuv"`
	Count       int              `json:"count"`
	AgeMinutes  float64          `json:"ageMinutes"` // of the newest
	Readings    []logbook.ID     `json:"readings"`
	Cast        colorimetry.Cast `json:"-"`
}

// lesson is what one reading or pair of readings says.
type lesson struct {
	cast     colorimetry.Cast
	floor    colorimetry.Cast // of the meter
	at       logbook.Millis
	readings []logbook.ID
}

// learn takes the mean of what readings say; there must be one.
func learn(all []lesson, now logbook.Millis) Learnt {
	l := Learnt{Count: len(all), AgeMinutes: math.Inf(1), Readings: []logbook.ID{}}
	n := float64(len(all))
	var mired, duv, square, squareDuv float64
	for _, one := range all {
		mired, duv = mired+float64(one.cast.Mired)/n, duv+float64(one.cast.Duv)/n
		l.AgeMinutes = math.Min(l.AgeMinutes, AgeMinutes(one.at, now))
		l.Readings = append(l.Readings, one.readings...)
		l.SpreadMired, l.SpreadDuv = float64(one.floor.Mired), float64(one.floor.Duv)
	}
	if len(all) > 1 {
		for _, one := range all {
			square += math.Pow(float64(one.cast.Mired)-mired, 2)
			squareDuv += math.Pow(float64(one.cast.Duv)-duv, 2)
		}
		l.SpreadMired, l.SpreadDuv = math.Sqrt(square/(n-1)), math.Sqrt(squareDuv/(n-1))
	}
	l.Cast = colorimetry.Cast{Mired: colorimetry.Mired(mired), Duv: colorimetry.Duv(duv)}
	l.Mired, l.Duv = figure.RoundTo(mired, figure.MiredDecimals), figure.RoundTo(duv, figure.DuvDecimals)
	l.SpreadMired, l.SpreadDuv = figure.RoundTo(l.SpreadMired, 1), figure.RoundTo(l.SpreadDuv, figure.DuvDecimals)
	l.AgeMinutes = figure.RoundTo(l.AgeMinutes, 0)
	return l
}

// Learner reads set-ups for what they teach, each once.
type Learner struct {
	book *logbook.Book
	memo Memo
	date string // what was learnt on a later one is not known; "": all is
}

func NewLearner(b *logbook.Book) *Learner { return &Learner{book: b, memo: Memo{}} }

// LearnerOn is a learner that knows what was learnt on a date and before; all where no date is
// given.
func LearnerOn(b *logbook.Book, date string) *Learner {
	return &Learner{book: b, memo: Memo{}, date: date}
}

func (l *Learner) readings(setUp logbook.ID) []*Reading { return l.memo.ReadingsOf(l.book, setUp) }

// ofLight lists the readings of one light alone that have a temperature.
func (l *Learner) ofLight(light logbook.View) (all []*Reading) {
	for _, m := range l.readings(light.Ref("setUp")) {
		if m.OfLight(light.ID) && m.Color != nil && m.Color.CCTKelvin != nil {
			all = append(all, m)
		}
	}
	return all
}

// gelsAt lists the gels that a light was read through, but for those that leave
// its colour.
func gelsAt(m *Reading, light logbook.View) (all []logbook.ID) {
	note := func(id logbook.ID) {
		gel, _ := light.Book().RecordOf(kinds.Gel, id)
		switch gel.Text("gelKind") {
		case "neutral", "diffusion":
			return
		}
		all = append(all, light.Book().Resolve(id))
	}
	for item := range m.Snapshot(light, "gels").Items() {
		if id, ok := item.ID(); ok {
			note(id)
		}
	}
	if id := m.view.Ref("throughGel"); !id.IsZero() {
		note(id)
	}
	return all
}
