package api

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// A typedReading is a measured light as somebody reads it off a meter and types
// it, and what a colour log may say of it.
type typedReading struct {
	measuredLight
	x, y, lux   string
	kelvin, duv float64 // of the spectrum
	kelvinRange float64 // what rounding x and y may do to it
	duvRange    float64
	typedKelvin float64 // of x and y as they were typed
	typedDuv    float64
	coloured    bool
}

// What the two computations may differ by before rounding: this test's observer
// ends at 780 nm, the program's at 830. It comes to 0.09 K at 6600 K and to 7e-7.
const (
	ownKelvin = 0.1
	ownDuv    = 1e-6
)

// typeReading rounds x y to so many decimals. Peak is the power at the peak of the
// spectrum, in W/(m²·nm), invented; 683 lm/W [CIE15], at 5 nm.
func (o ownObserver) typeReading(t *testing.T, l measuredLight, decimals int, peak float64) typedReading {
	t.Helper()
	X, Y, Z := o.see(l)
	x, y := X/(X+Y+Z), Y/(X+Y+Z)
	r := typedReading{measuredLight: l, lux: strconv.FormatFloat(683*5*peak*Y, 'f', 1, 64),
		x: strconv.FormatFloat(x, 'f', decimals, 64), y: strconv.FormatFloat(y, 'f', decimals, 64)}
	half := 0.5 * math.Pow10(-decimals)
	r.kelvin, r.duv = o.nearest(x, y)
	r.kelvinRange, r.duvRange = o.spread(x, y, half)
	r.typedKelvin, r.typedDuv = o.nearest(number(t, r.x), number(t, r.y))
	r.coloured = math.Abs(r.duv) > 0.05
	if math.Abs(math.Abs(r.duv)-0.05) <= r.duvRange+ownDuv {
		t.Fatalf("%s: Duv %v is too near 0.05 to say whether it is coloured", l.name, r.duv)
	}
	return r
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// mix is what the lights of a set-up give together: tristimulus values add up.
func (o ownObserver) mix(t *testing.T, lights []typedReading) typedReading {
	t.Helper()
	var X, Y, Z float64
	for _, l := range lights {
		x, y, lux := number(t, l.x), number(t, l.y), number(t, l.lux)
		X, Y, Z = X+x/y*lux, Y+lux, Z+(1-x-y)/y*lux
	}
	x, y := X/(X+Y+Z), Y/(X+Y+Z)
	r := typedReading{measuredLight: measuredLight{name: "mix with " + lights[0].name}, x: fmt.Sprint(x), y: fmt.Sprint(y)}
	r.kelvin, r.duv = o.nearest(x, y)
	r.typedKelvin, r.typedDuv = r.kelvin, r.duv
	r.coloured = math.Abs(r.duv) > 0.05
	return r
}

// hasReferenceLight reports which set-ups name their key the reference light; in the
// others the reference is the mix.
func hasReferenceLight(setUp int) bool { return setUp%2 == 0 }

func (o ownObserver) reference(t *testing.T, setUps [][]typedReading, setUp int) typedReading {
	t.Helper()
	if hasReferenceLight(setUp) {
		return setUps[setUp][0]
	}
	return o.mix(t, setUps[setUp])
}

// printed is a number of a cell; none where it is empty.
func printed(t *testing.T, cell string) *float64 {
	t.Helper()
	if cell == "" {
		return nil
	}
	v := number(t, cell)
	return &v
}

// measuredSetUps deals the lights out: each of F1 to F11 is the key of a set-up,
// the others fill them up. None of the measured lights is coloured, so three are
// added as they come through filters.
func (o ownObserver) measuredSetUps(t *testing.T) (setUps [][]typedReading) {
	t.Helper()
	keys, others := readMeasuredLights(t)
	others = append(others, keys[6].cut("F7 from 600 nm", 600, 780),
		keys[6].cut("F7 to 500 nm", 380, 500), others[0].cut("column50 500 to 570 nm", 500, 570))
	n := 0
	typed := func(l measuredLight) typedReading {
		n++
		return o.typeReading(t, l, 4+n%3, 0.0005+0.0003*float64(n))
	}
	for _, l := range keys {
		setUps = append(setUps, []typedReading{typed(l)})
	}
	for i, l := range others {
		at := i % len(keys)
		setUps[at] = append(setUps[at], typed(l))
	}
	return setUps
}

// logMeasured logs the set-ups as a device does: one camera, one clip each.
func logMeasured(t *testing.T, setUps [][]typedReading) (c *client, production string) {
	t.Helper()
	s := openSite(t)
	c = s.admit(pairing.Owner, "meter of the gaffer", logbook.ID{})
	id := c.ask("POST", "/v1/productions", newProduction).want(201).id()
	production = "/v1/productions/" + id
	add := func(kind, body string, values ...any) string {
		return c.ask("POST", production+"/records/"+kind, fmt.Sprintf(body, values...)).want(201).id()
	}
	day := add("day", `{"number":1,"date":"2031-03-04"}`)
	body := add("body", `{"label":"SN 7","whiteModes":["kelvin"],"kelvinRanges":[{"min":2000,"max":10000,"step":10}],
		"recordingModes":{"raw":{"name":"raw","white":"free"}},"timecode":"none"}`)
	camera := add("camera", `{"letter":"A","body":{"body":%q}}`, body)
	for i, lights := range setUps {
		setUp := add("setUp", `{"day":%q,"name":"%d","referenceCamera":%q,"cameras":{%q:{"inUse":true}}}`, day, i+1, camera, camera)
		key, keyLight := "", ""
		for j, l := range lights {
			light := add("light", `{"setUp":%q,"name":%q,"role":%q}`, setUp, l.name, []string{"key", "fill", "practical"}[min(j, 2)])
			reading := add("reading", `{"setUp":%q,"measured":{"as":"xy","x":%s,"y":%s},"illuminance":{"value":%s,"unit":"lux"},
				"takenAt":"2031-03-04T06:20:00Z","of":{"as":"light","light":%q}}`, setUp, l.x, l.y, l.lux, light)
			if j == 0 {
				key, keyLight = reading, light
			}
		}
		if at := production + "/records/setUp/" + setUp; hasReferenceLight(i) {
			c.ask("PATCH", at, fmt.Sprintf(`{"referenceLight":%q}`, keyLight), "If-Match", c.ask("GET", at, "").want(200).tag()).want(200)
		}
		add("white", `{"setUp":%q,"from":{"as":"readings","readings":[{"reading":%q}]},"appliesFrom":{"as":"start"}}`, setUp, key)
		take := add("take", `{"setUp":%q,"number":1,"startedAt":"2031-03-04T06:25:00Z"}`, setUp)
		add("clip", `{"setUp":%q,"camera":%q,"body":%q,"takes":{%q:{}},"whiteMode":"kelvin","kelvin":5600,"startedAt":"2031-03-04T06:25:00Z"}`, setUp, camera, body, take)
	}
	return c, production
}

// check compares what a log says of a light: CCT without decimals, Duv with four.
func (r typedReading) check(t *testing.T, where, words string, kelvin, duv *float64) {
	t.Helper()
	if r.coloured {
		if words != "coloured, no CCT" || kelvin != nil || duv != nil {
			t.Errorf("%s, %s: got %q, want \"coloured, no CCT\" and no numbers: its Duv is %+.4f", where, r.name, words, r.duv)
		}
		return
	}
	if kelvin == nil || duv == nil {
		t.Errorf("%s, %s: got %q without numbers, want %.0f K, Duv %+.4f", where, r.name, words, r.kelvin, r.duv)
		return
	}
	if got, want := *kelvin, r.typedKelvin; math.Abs(got-want) > 0.5+ownKelvin {
		t.Errorf("%s, %s: got %v K, want %.2f K of x %s, y %s", where, r.name, got, want, r.x, r.y)
	}
	if got, want := *duv, r.typedDuv; math.Abs(got-want) > 0.00005+ownDuv {
		t.Errorf("%s, %s: got Duv %v, want %.6f of x %s, y %s", where, r.name, got, want, r.x, r.y)
	}
	if got, want, most := *kelvin, r.kelvin, r.kelvinRange+0.5+ownKelvin; math.Abs(got-want) > most {
		t.Errorf("%s, %s: got %v K, want %.2f ± %.2f K of the spectrum", where, r.name, got, want, most)
	}
	if got, want, most := *duv, r.duv, r.duvRange+0.00005+ownDuv; math.Abs(got-want) > most {
		t.Errorf("%s, %s: got Duv %v, want %.6f ± %.6f of the spectrum", where, r.name, got, want, most)
	}
}

// loggedColor is a colour in the log as post reads it.
type loggedColor struct {
	X, Y           float64
	CCTKelvin, Duv *float64
	Words          string
}

type loggedRow struct {
	Find  struct{ SetUp string }
	Meant struct{ Color loggedColor }
	There struct {
		Reference      loggedColor
		IlluminanceLux float64
		Lights         []struct {
			Name           string
			Color          loggedColor
			IlluminanceLux float64
		}
	}
}

// Eleven standard illuminants, fifteen other measured lights and three coloured
// ones: what the set-ups hold together.
const lightsMeasured, lightsColoured = 29, 3

func TestMeasuredSpectraComeOutInTheColorLogAsJSON(t *testing.T) {
	o := readObserver(t)
	setUps := o.measuredSetUps(t)
	c, production := logMeasured(t, setUps)
	var log struct{ Rows []loggedRow }
	if err := json.Unmarshal(c.ask("GET", production+"/color-log.json", "").want(200).body, &log); err != nil {
		t.Fatal(err)
	}
	if len(log.Rows) != len(setUps) {
		t.Fatalf("got %d rows, want one for each of %d set-ups", len(log.Rows), len(setUps))
	}
	checked, coloured := 0, 0
	for _, row := range log.Rows {
		at := int(number(t, row.Find.SetUp)) - 1
		lights := setUps[at]
		if len(row.There.Lights) != len(lights) {
			t.Fatalf("set-up %s: got %d lights, want %d", row.Find.SetUp, len(row.There.Lights), len(lights))
		}
		for _, got := range row.There.Lights {
			for _, l := range lights {
				if l.name != got.Name {
					continue
				}
				checked++
				l.check(t, "lights", got.Color.Words, got.Color.CCTKelvin, got.Color.Duv)
				if l.coloured {
					coloured++
				}
				if x, y := number(t, l.x), number(t, l.y); math.Abs(got.Color.X-x) > 0.0000051 || math.Abs(got.Color.Y-y) > 0.0000051 {
					t.Errorf("%s: got x %v, y %v, want %v, %v to five decimals", l.name, got.Color.X, got.Color.Y, x, y)
				}
				if want := number(t, l.lux); got.IlluminanceLux != want {
					t.Errorf("%s: got %v lx, want %v as typed", l.name, got.IlluminanceLux, want)
				}
			}
		}
		lights[0].check(t, "white", row.Meant.Color.Words, row.Meant.Color.CCTKelvin, row.Meant.Color.Duv)
		o.reference(t, setUps, at).check(t, "reference", row.There.Reference.Words, row.There.Reference.CCTKelvin, row.There.Reference.Duv)
	}
	if checked != lightsMeasured || coloured != lightsColoured {
		t.Errorf("%d lights were checked, %d of them coloured; want %d and %d", checked, coloured, lightsMeasured, lightsColoured)
	}
}

var lightInCell = regexp.MustCompile(`^(.+) \((?:key|fill|practical)\) (?:(\d+) K, Duv ([+-]\d\.\d{4})|(coloured, no CCT))(?:, |$)`)

func TestMeasuredSpectraComeOutInTheColorLogAsCSV(t *testing.T) {
	o := readObserver(t)
	setUps := o.measuredSetUps(t)
	c, production := logMeasured(t, setUps)
	rows, err := csv.NewReader(strings.NewReader(string(c.ask("GET", production+"/color-log.csv", "").want(200).body))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	if len(rows) != 1+len(setUps) {
		t.Fatalf("got %d rows under the header, want one for each of %d set-ups", len(rows)-1, len(setUps))
	}
	checked, coloured := 0, 0
	for _, row := range rows[1:] {
		cell := func(name string) string {
			i, ok := column[name]
			if !ok {
				t.Fatalf("there is no column %q", name)
			}
			return row[i]
		}
		at := int(number(t, cell("set-up"))) - 1
		lights := setUps[at]
		for _, part := range strings.Split(cell("lights"), "; ") {
			found := lightInCell.FindStringSubmatch(part)
			if found == nil {
				t.Fatalf("%q does not read as a light with its colour", part)
			}
			for _, l := range lights {
				if l.name != found[1] {
					continue
				}
				checked++
				if found[4] != "" {
					coloured++
				}
				l.check(t, "lights", found[4], printed(t, found[2]), printed(t, found[3]))
			}
		}
		lights[0].check(t, "white", "", printed(t, cell("white CCT (K)")), printed(t, cell("white Duv")))
		reference := o.reference(t, setUps, at)
		if kelvin := cell("light CCT (K)"); !reference.coloured || kelvin != "" {
			reference.check(t, "reference", kelvin, printed(t, kelvin), printed(t, cell("light Duv")))
		}
		if got, want := cell("illuminance (lx)"), number(t, lights[0].lux); hasReferenceLight(at) && number(t, got) != want {
			t.Errorf("set-up %s: got %v lx, want %v as typed", cell("set-up"), got, want)
		}
	}
	if checked != lightsMeasured || coloured != lightsColoured {
		t.Errorf("%d lights were checked, %d of them coloured; want %d and %d", checked, coloured, lightsMeasured, lightsColoured)
	}
}
