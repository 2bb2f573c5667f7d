package slate

import (
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
)

// An Event is one button of take logging, pressed for a set-up. ReadEvent makes
// it.
type Event struct {
	Name  string
	SetUp logbook.ID
	given map[string]logbook.Value // by the names of Fields, with keys for stars
}

// Fields is the table of what an event may say, in the way of the record
// kinds' table.
var Fields = append([]kinds.Field{
	kinds.ChoiceField("event", "what happened", strings.Join(Names(), " ")).Must(),
	kinds.ReferenceField("take", "the take it is about; absent: the last one", kinds.Take),
	kinds.ReferenceField("camera", "the camera it is about", kinds.Camera),
	kinds.ReferenceField("clip", "the clip it is about", kinds.Clip),
	kinds.WholeField("number", "the take's number; absent: the next", "1", "999"),
	kinds.FlagField("sameNumber", "a pick-up that keeps the last take's number"),
	kinds.TextField("suffix", "pick-up suffix", 8),
	kinds.ChoiceField("falseTakeNumber", "whether a false take's number is used up; asked once per production", "used usedAgain"),
	kinds.ChoiceField("sky", "the sky; absent: the last one", kinds.Skies),
	kinds.ChoiceField("slate", "where it is slated", "head tail none"),
	kinds.FlagField("wanted", "marked as wanted"),
	kinds.InstantField("startedAt", "when it began; absent: now"),
	kinds.PatternField("timecode", "the timecode at which it happened", "timecode"),
	kinds.TextField("card", "the new card; absent: the number of the last one plus one", 24),
	kinds.TextField("place", "where; another place than the set-up's makes a new set-up", 200),
}, eventCameraFields()...)

// whiteSettings are the fields of a clip that say how its white was set; carried
// are those that go over from clip to clip beside them, of which onBody are set on the body.
var (
	whiteSettings = []string{"whiteMode", "kelvin", "tint", "amberBlue", "preset", "customFrom"}
	carried       = []string{"lens", "filters", "recordingMode", "sensitivity", "sensorRate", "shutter"}
	onBody        = []string{"recordingMode", "sensitivity", "sensorRate", "shutter"}
)

// eventCameraFields are what an event may say of the cameras, each by its id: the
// rows of the clip's own table.
func eventCameraFields() []kinds.Field {
	const of = "cameras/*/"
	var out []kinds.Field
	for _, name := range append(append([]string{"card"}, whiteSettings...), carried...) {
		for _, f := range kinds.ClipSpec.Fields {
			if f.Name == name {
				f.Name, f.Required, f.Default = of+name, false, "carried over"
				out = append(out, f)
			}
		}
	}
	return append(out,
		kinds.TextField(of+"name", "the clip's name, read off", 80),
		kinds.PatternField(of+"timecodeStart", "timecode at the clip's start", "timecode"),
		kinds.PatternField(of+"beginsAt", "timecode at which the take begins in the clip", "timecode"),
		kinds.FlagField(of+"rolled", "false: this camera did not roll"),
	)
}

// eventMembers says what each event may say; an exclamation mark: must.
var eventMembers = []struct{ name, members string }{
	{"nextTake", "number suffix sky slate wanted startedAt cameras/*"},
	{"falseStart", "startedAt cameras/*"},
	{"falseTake", "take falseTakeNumber sky slate startedAt cameras/*"},
	{"series", "number sky wanted timecode startedAt cameras/*/beginsAt"},
	{"pickUp", "number sameNumber suffix sky slate wanted startedAt cameras/*"},
	{"reroll", "camera! take startedAt cameras/*"},
	{"newCard", "camera! card"},
	{"newBattery", "camera!"},
	{"cameraSet", "camera! cameras/*/whiteMode cameras/*/kelvin cameras/*/tint cameras/*/amberBlue cameras/*/preset"},
	{"notRolling", "camera! take"},
	{"joinsLate", "camera! take startedAt cameras/*"},
	{"chart", "camera startedAt cameras/*"},
	{"insertTake", "take number suffix sky slate wanted startedAt cameras/*"},
	{"shiftNames", "clip!"},
	{"whiteChanged", "camera! clip timecode cameras/*/whiteMode cameras/*/kelvin cameras/*/tint cameras/*/amberBlue cameras/*/preset"},
	{"noSlate", "place startedAt cameras/*"},
}

// Names lists the events.
func Names() []string {
	var names []string
	for _, e := range eventMembers {
		names = append(names, e.name)
	}
	return names
}

const eventKind logbook.Kind = "event"

var eventSpec = kinds.Indexed([]kinds.Spec{{Kind: eventKind, Doc: "something that happened while takes are logged", Fields: Fields}})[0]

// ReadEvent reads an event for a set-up from a JSON object such as {"event":
// "nextTake", "cameras": {"<id>": {"kelvin": 5600}}}. The error is of type amend.Errors and
// holds every fault of form. Whether the event fits the book, Drafts finds out.
func ReadEvent(setUp logbook.ID, object logbook.Value) (Event, error) {
	if object == "" || object[0] != '{' {
		return Event{}, amend.Errors{{Kind: eventKind, Field: "the object", Value: object, Allowed: "a JSON object"}}
	}
	ev := Event{SetUp: setUp, given: map[string]logbook.Value{}}
	ev.Name, _ = object.Member("event").Text()
	w := &amend.Walker{Spec: &eventSpec, Service: func(string, logbook.Value) bool { return false }}
	may := membersOf(ev.Name)
	w.Field = func(f *kinds.Field, path string, v logbook.Value) {
		switch {
		case v == logbook.Null:
		case f.Name != "event" && may != nil && !allows(may, f.Name):
			w.Refuse(path, v, "none: "+ev.Name+" takes "+strings.ReplaceAll(strings.Join(may, ", "), "!", ""))
		case w.Check(kinds.JudgeField(f, v, true), f, path):
			ev.given[path] = v
		}
	}
	w.Walk("", object)
	if object.Member("event") == "" {
		w.Refuse("event", "", kinds.Allowed(&eventSpec.Fields[0]))
	}
	for _, member := range may {
		if name, must := strings.CutSuffix(member, "!"); must && (object.Member(name) == "" || object.Member(name) == logbook.Null) {
			f, _ := eventSpec.Field(name)
			w.Refuse(name, "", kinds.Allowed(f))
		}
	}
	return ev, w.Result()
}

func membersOf(event string) []string {
	for _, e := range eventMembers {
		if e.name == event {
			return strings.Fields(e.members)
		}
	}
	return nil
}

func allows(members []string, name string) bool {
	for _, member := range members {
		member = strings.TrimSuffix(member, "!")
		if all, ok := strings.CutSuffix(member, "*"); member == name || ok && strings.HasPrefix(name, all) {
			return true
		}
	}
	return false
}

func (ev *Event) text(name string) string {
	text, _ := ev.given[name].Text()
	return text
}

// refuse is an error about what an event says.
func (ev *Event) refuse(name string, allowed string) error {
	return refusal(name, ev.given[name], allowed)
}

func refusal(field string, value logbook.Value, allowed string) error {
	return &logbook.FieldError{Kind: eventKind, Field: field, Value: value, Allowed: allowed}
}
