package lighting

import (
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// ProductionOf is the record of the production; a book without one has none.
func ProductionOf(b *logbook.Book) (logbook.View, bool) {
	if v, ok := b.RecordOf(kinds.Production, b.Production()); ok {
		return v, true
	}
	for _, v := range b.Records(kinds.Production) {
		return v, true
	}
	return logbook.View{}, false
}

func SetUpName(b *logbook.Book, setUp logbook.View) string {
	if !setUp.Known() {
		return "that is not in the log"
	}
	name := setUp.Text("name")
	if scene, ok := b.RecordOf(kinds.Scene, setUp.Ref("scene")); ok {
		name = scene.Text("name") + " " + name
	}
	return name
}

// DayOf is the day that a set-up belongs to.
func DayOf(b *logbook.Book, setUp logbook.ID) (logbook.View, bool) {
	v, ok := b.RecordOf(kinds.SetUp, setUp)
	if !ok {
		return logbook.View{}, false
	}
	return b.RecordOf(kinds.Day, v.Ref("day"))
}

// DateOf is the date of that day; "" where there is none.
func DateOf(b *logbook.Book, setUp logbook.ID) string {
	day, ok := DayOf(b, setUp)
	if !ok {
		return ""
	}
	return day.Text("date")
}

// TakeTime is when a take began: as it says, else when the first of its clips
// did, else when it was logged.
func TakeTime(b *logbook.Book, take logbook.View) logbook.Millis {
	at, _ := TakeSays(b, take)
	return at
}

// TakeSays is TakeTime, and whether the take or one of its clips says it.
func TakeSays(b *logbook.Book, take logbook.View) (at logbook.Millis, said bool) {
	if t, ok := InstantOf(take, "startedAt"); ok {
		return t, true
	}
	for _, clip := range b.Referring(kinds.Clip, "takes", take.ID) {
		if t, ok := InstantOf(clip, "startedAt"); ok && (!said || t < at) {
			at, said = t, true
		}
	}
	if said {
		return at, true
	}
	return take.CreatedAt(), false
}

func TakeName(take logbook.View) string {
	number, _ := take.Value("number").Number()
	name := "take " + number + take.Text("suffix")
	if kind := take.Text("takeKind"); kind == "chart" || kind == "test" || kind == "falseStart" {
		name = map[string]string{"chart": "chart ", "test": "test ", "falseStart": "false start "}[kind] + number
	}
	return name
}

func ClipTime(clip logbook.View) logbook.Millis {
	if t, ok := InstantOf(clip, "startedAt"); ok {
		return t
	}
	return clip.CreatedAt()
}

// AtOrAfter compares takes by number, or by time where one has none.
func AtOrAfter(b *logbook.Book, take, from logbook.View) bool {
	n, ok := take.Number("number")
	m, too := from.Number("number")
	if ok && too {
		return n >= m
	}
	return TakeTime(b, take) >= TakeTime(b, from)
}
