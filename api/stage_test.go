package api

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// A stage is an invented production with one record of every kind.
type stage struct {
	*client                        // its owner
	base       string              // the address of the production
	production logbook.ID          //
	ids        map[string]string   // of the records, by the names below
	cast       map[string][]string // kind → names
}

// play is the production: a name, a kind and a body in which $name stands for
// the id of a record made before.
var play = []struct{ name, kind, body string }{
	{"day", "day", `{"number":3,"date":"2031-03-04","unit":"main","place":"the old mill"}`},
	{"scene", "scene", `{"name":"12","location":"interior","intendedCast":{"name":"late sun","mired":15}}`},
	{"body", "body", `{"label":"SN 1","whiteModes":["kelvin","auto"],"kelvinRanges":[{"min":2500,"max":9900,"step":100}],
		"tint":{"min":-50,"max":50,"step":1,"duvPerUnit":0.0005,"plusIs":"magenta","unitFrom":"samples"},"tintZero":"blend",
		"recordingModes":{"raw":{"name":"raw","white":"free"}},
		"clipNameRule":[{"as":"fixed","text":"A"},{"as":"card","digits":3,"start":1},{"as":"clip","digits":3,"reset":"newCard"}],"timecode":"timeOfDay"}`},
	{"other", "body", `{"label":"SN 2","whiteModes":["kelvin"],"kelvinRanges":[{"min":2800,"max":8000,"step":50}],"recordingModes":{"film":{"name":"film","white":"baked"}},"timecode":"none"}`},
	{"a", "camera", `{"letter":"A","body":{"body":"$body","from":"2031-03-01T05:00:00Z"},"card":"001"}`},
	{"b", "camera", `{"letter":"B","body":{"body":"$other"}}`},
	{"meter", "meter", `{"name":"the small one","meterKind":"spectrometer","floorXY":0.0020}`},
	{"lamp", "lamp", `{"name":"panel","family":"twoColorLed","count":2,"kelvinDial":{"as":"range","min":2700,"max":6500,"step":50}}`},
	{"gel", "gel", `{"name":"half warm","gelKind":"warm","shiftMired":81}`},
	{"setUp", "setUp", `{"day":"$day","scene":"$scene","name":"12A","referenceCamera":"$a","cameras":{"$a":{"inUse":true,"lens":"35"},"$b":{"inUse":true}},"limits":{"key":{"mired":10}}}`},
	{"window", "light", `{"setUp":"$setUp","name":"window","role":"key","sky":"cloud","rigged":{"on":true}}`},
	{"panel", "light", `{"setUp":"$setUp","name":"panel","lamp":"$lamp","role":"fill","rigged":{"dialKelvin":5600,"levelPercent":40,"gels":["$gel"],"on":true}}`},
	{"reading", "reading", `{"setUp":"$setUp","measured":{"as":"cctDuv","cctKelvin":5612.0,"duv":0.0031},"illuminance":{"value":640,"unit":"lux"},"takenAt":"2031-03-04T06:20:00Z","meter":"$meter","of":{"as":"light","light":"$window"},"purpose":"first"}`},
	{"panelReading", "reading", `{"setUp":"$setUp","measured":{"as":"xy","x":0.345,"y":0.355},"illuminance":{"value":20,"unit":"footCandle"},"takenAt":"2031-03-04T06:22:00Z","of":{"as":"light","light":"$panel"}}`},
	{"white", "white", `{"setUp":"$setUp","from":{"as":"readings","readings":[{"reading":"$reading"}]},"appliesFrom":{"as":"start"},"decidedBy":"the gaffer","judgedOn":"meter"}`},
	{"take", "take", `{"setUp":"$setUp","number":1,"startedAt":"2031-03-04T06:25:00Z"}`},
	{"clip", "clip", `{"setUp":"$setUp","camera":"$a","body":"$body","takes":{"$take":{"beginsAt":"06:25:00:00"}},"name":{"text":"A001001","from":"counted"},"card":"001","whiteMode":"kelvin","kelvin":5600,"tint":-3,"recordingMode":"raw","startedAt":"2031-03-04T06:25:00Z"}`},
	{"sample", "sample", `{"clip":"$clip","body":"$body","rgb":{"as":"percent","r":41.0,"g":42.5,"b":40.1,"encoding":"bt1886","primaries":"bt709"},"settings":{"whiteMode":"kelvin","kelvin":5600,"tint":-3},"light":{"as":"reading","reading":"$reading"}}`},
	{"acceptance", "acceptance", `{"deviation":"lightOff","subjects":["$panel","$setUp"],"scope":"setUp","reason":"a lamp in the picture"}`},
	{"note", "note", `{"about":"$take","text":"the sun came out at the end","to":{"as":"post"}}`},
}

const newProduction = `{"title":"The Lighthouse","shortName":"LH","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`

// setStage begins a production and puts the whole play into it.
func setStage(t *testing.T) *stage {
	t.Helper()
	s := openSite(t)
	owner := s.admit(pairing.Owner, "desk", logbook.ID{})
	production := owner.ask("POST", "/v1/productions", newProduction).want(201).id()
	id, err := logbook.ParseID(production)
	if err != nil {
		t.Fatal(err)
	}
	g := &stage{client: owner, base: "/v1/productions/" + production, production: id,
		ids: map[string]string{"production": production}, cast: map[string][]string{}}
	for _, p := range play {
		g.ids[p.name] = g.ask("POST", g.base+"/records/"+p.kind, g.fill(p.body)).want(201).id()
		g.cast[p.kind] = append(g.cast[p.kind], p.name)
	}
	return g
}

// fill puts ids in the place of $names.
func (g *stage) fill(text string) string {
	longestFirst := slices.SortedFunc(maps.Keys(g.ids), func(a, b string) int { return len(b) - len(a) })
	for _, name := range longestFirst {
		text = strings.ReplaceAll(text, "$"+name, g.ids[name])
	}
	return text
}

func (g *stage) record(kind, name string) string {
	return fmt.Sprintf("%s/records/%s/%s", g.base, kind, g.ids[name])
}

// head is the end of the production's log: it shows whether anything was stored.
func (g *stage) head() logbook.Head {
	g.Helper()
	head, err := g.store.Head(g.production)
	if err != nil {
		g.Fatal(err)
	}
	return head
}

// edit is the readable form of an edit by a device that worked apart.
func (g *stage) edit(line string, n int, kind, record, set string, over ...string) string {
	names := ""
	if len(over) > 0 {
		names = `,"over":` + over[0]
	}
	return g.fill(fmt.Sprintf(`{"production":"$production","kind":"%s","record":"%s","device":"%s","line":"%s","n":%d,"at":"2031-03-04T06:40:00.000Z","offsetMs":0,"by":"2nd AC","set":%s%s}`,
		kind, record, g.device, line, n, set, names))
}
