package api

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
)

// asCSV writes a light as two columns.
func (l measuredLight) asCSV() string {
	var b strings.Builder
	b.WriteString("nm,power\n")
	for i := range l.nm {
		fmt.Fprintf(&b, "%v,%v\n", l.nm[i], l.power[i])
	}
	return b.String()
}

// asForms writes a light in every form that is taken, by content type.
func (l measuredLight) asForms(t *testing.T) map[string]string {
	t.Helper()
	var xml, fields, data strings.Builder
	for i := range l.nm {
		fmt.Fprintf(&xml, `<SpectralData wavelength="%v">%v</SpectralData>`, l.nm[i], l.power[i])
		fmt.Fprintf(&fields, "SPECTRAL_NM%v ", l.nm[i])
		fmt.Fprintf(&data, "%v ", l.power[i])
	}
	object, err := json.Marshal(map[string]any{"wavelengths": l.nm, "values": l.power, "unit": "nm"})
	if err != nil {
		t.Fatal(err)
	}
	return map[string]string{
		"text/csv":         l.asCSV(),
		"application/json": string(object),
		"text/plain": fmt.Sprintf("CGATS.17\nNUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n"+
			"SAMPLE_ID %s\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n1 %s\nEND_DATA\n",
			len(l.nm)+1, &fields, &data),
		"application/xml": `<?xml version="1.0"?><IESTM2714 xmlns="http://www.ies.org/iestm2714" version="1.0"><Header/><SpectralDistribution><SpectralQuantity>relative</SpectralQuantity>` +
			xml.String() + `</SpectralDistribution></IESTM2714>`,
	}
}

func (r *reply) number(path ...any) float64 {
	r.Helper()
	f, ok := r.at(path...).Float()
	if !ok {
		r.Fatalf("the answer has no number at %v: %s", path, r.body)
	}
	return f
}

// TestSpectrumBecomesAReading: x y of the service against sums of this package's
// own, for every form of file, then stored and read back.
func TestSpectrumBecomesAReading(t *testing.T) {
	g := setStage(t)
	o := readObserver(t)
	fluorescent, others := readMeasuredLights(t)
	before := g.head()
	for _, l := range append(fluorescent[:3:3], others...) {
		x, y, z := o.see(l)
		for media, file := range l.asForms(t) {
			reading := g.ask("POST", g.base+"/spectra", file, "Content-Type", media).want(200)
			if got, want := reading.number("color", "x"), x/(x+y+z); math.Abs(got-want) > 2e-5 {
				t.Errorf("%s as %s: x is %v, want %v", l.name, media, got, want)
			}
			if got, want := reading.number("color", "y"), y/(x+y+z); math.Abs(got-want) > 2e-5 {
				t.Errorf("%s as %s: y is %v, want %v", l.name, media, got, want)
			}
			if reading.count("similarity") != 3 {
				t.Errorf("%s as %s: got %s, want three references", l.name, media, reading.at("similarity"))
			}
		}
	}
	if g.head() != before {
		t.Error("reading files changed the log")
	}
	store := func(l measuredLight) (id string) {
		reading := g.ask("POST", g.base+"/spectra", l.asCSV(), "Content-Type", "text/csv").want(200)
		return g.ask("POST", g.base+"/records/reading", g.fill(fmt.Sprintf(
			`{"setUp":"$setUp","measured":%s,"takenAt":"2031-03-04T06:26:00Z","of":{"as":"light","light":"$panel"},"reported":{"ra":81.5}}`, reading.at("measured")))).want(201).id()
	}
	first, second := store(fluorescent[1]), store(fluorescent[6])
	of := func(id, query string) *reply { return g.ask("GET", g.base+"/records/reading/"+id+"/color"+query, "") }
	t.Run("it says what its spectrum says", func(t *testing.T) {
		got := of(first, "").want(200)
		x, y, _ := o.see(fluorescent[1])
		kelvin, _ := o.nearest(xyOf(o, fluorescent[1]))
		if math.Abs(got.number("color", "cctKelvin")-kelvin) > 3 {
			t.Errorf("got %s, want %.0f K", got.at("color"), kelvin)
		}
		if math.Abs(got.number("xyz", "x")/got.number("xyz", "y")-x/y) > 1e-4 {
			t.Errorf("got %s, want X/Y %v", got.at("xyz"), x/y)
		}
		if got.at("reported", "ra") != "81.5" || got.at("measuredAs") != `"spectrum"` || got.count("similarity") != 3 {
			t.Errorf("got %s", got.body)
		}
	})
	t.Run("it is like itself, and less like another", func(t *testing.T) {
		if got := of(first, "?reference="+first).want(200); got.at("similarity", 0, "ssi") != "100" {
			t.Errorf("against itself: got %s, want 100", got.at("similarity"))
		}
		if got := of(first, "?reference="+second).want(200); got.number("similarity", 0, "ssi") >= 95 {
			t.Errorf("against another: got %s, want less than 95", got.at("similarity"))
		}
		if got := of(first, "?reference=tungsten").want(200); got.count("similarity") != 1 {
			t.Errorf("got %s, want tungsten alone", got.at("similarity"))
		}
	})
	t.Run("a reading without a spectrum has a colour and no similarity", func(t *testing.T) {
		got := of(g.ids["reading"], "").want(200)
		if got.at("color", "cctKelvin") != "5612" || got.at("color", "duv") != "0.0031" || got.count("similarity") != 0 {
			t.Errorf("got %s", got.body)
		}
		of(g.ids["reading"], "?reference=daylight").want(409)
		of(first, "?reference="+g.ids["reading"]).want(409)
		of(first, "?reference="+g.ids["take"]).want(404)
		of(g.ids["take"], "").want(404)
		if p := of(first, "?reference=candle").want(400).problem(); len(p.Errors) != 1 || p.Errors[0].Field != "reference" {
			t.Errorf("got %+v, want the field reference", p)
		}
	})
}

func xyOf(o ownObserver, l measuredLight) (float64, float64) {
	x, y, z := o.see(l)
	return x / (x + y + z), y / (x + y + z)
}

func TestSpectraThatAreRefused(t *testing.T) {
	g := setStage(t)
	rows := func(from, to, step float64, value string) string {
		var b strings.Builder
		for nm := from; nm <= to; nm += step {
			fmt.Fprintf(&b, "%v,%s\n", nm, value)
		}
		return b.String()
	}
	for _, c := range []struct {
		name, media, body string
		status            int
		says              string
	}{
		{"too short", "text/csv", rows(400, 700, 5, "1"), 400, "380"},
		{"too coarse", "text/csv", rows(380, 780, 25, "1"), 400, "20"},
		{"falling", "text/csv", "780,1\n" + rows(380, 770, 5, "1"), 400, ""},
		{"negative", "text/csv", rows(380, 780, 5, "-1"), 400, ""},
		{"micrometres", "text/csv", rows(0.38, 0.78, 0.005, "1"), 400, ""},
		{"a text", "text/plain", "hello", 400, ""},
		{"a declaration that swells", "application/xml", `<!DOCTYPE x [<!ENTITY a "aaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><IESTM2714>&b;</IESTM2714>`, 400, ""},
		{"JSON that is none", "application/json", `{"wavelengths":[380`, 400, "early"},
		{"more than 1 MiB", "text/csv", strings.Repeat("380,1\n", mostBody/6+1), 413, "1 MiB"},
		{"powers beyond the form of a reading", "text/csv", rows(380, 780, 5, "1e13"), 422, "1e12"},
		{"an image", "image/png", "x", 415, "text/csv"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := g.ask("POST", g.base+"/spectra", c.body, "Content-Type", c.media).want(c.status)
			if !strings.Contains(string(r.body), c.says) {
				t.Errorf("got %s, want it to say %q", r.body, c.says)
			}
		})
	}
}

func TestPlanOfASetUp(t *testing.T) {
	g := setStage(t)
	g.ask("POST", g.base+"/records/gel", `{"name":"quarter CTB","gelKind":"cool","quantity":2}`).want(201)
	before := g.head()
	plan := g.ask("GET", g.base+"/set-ups/"+g.ids["setUp"]+"/plan", "").want(200)
	if plan.count("lights") != 2 || plan.count("gels") != 2 || plan.at("reference") == "" {
		t.Fatalf("got %s", plan.body)
	}
	panel := plan.at("lights", 1)
	if name, _ := panel.Member("name").Text(); name != "panel" || panel.Member("expected") == "" || panel.Member("residual") == "" {
		t.Errorf("got %s, want what to do with the panel", panel)
	}
	if window := plan.at("lights", 0); window.Member("stays") != "true" {
		t.Errorf("got %s, want the window, which is the white, to stay", window)
	}
	g.ask("GET", g.base+"/set-ups/"+g.ids["take"]+"/plan", "").want(404)
	if g.head() != before {
		t.Error("planning changed the log")
	}
}

// TestCardsOverHTTP: a camera that is off its label learns what to dial, and is
// called matched after a second card only.
func TestCardsOverHTTP(t *testing.T) {
	g := setStage(t)
	shown := g.ask("GET", g.record("sample", "sample")+"/color", "").want(200)
	if shown.at("white") == "" || shown.at("error") == "" || shown.at("learnt") == "" || shown.at("toNeutral", "gain") == "" {
		t.Fatalf("got %s", shown.body)
	}
	// R 41.0, G 42.5, B 40.1: less red and blue than green, so that both are raised.
	gain := func(channel string) float64 { return shown.number("toNeutral", "gain", channel) }
	if r, gr, b := gain("r"), gain("g"), gain("b"); !(r > gr && b > r) {
		t.Errorf("gains %v %v %v, want blue above red above green", r, gr, b)
	}
	g.ask("GET", g.base+"/records/sample/"+g.ids["take"]+"/color", "").want(404)
	match := g.base + "/set-ups/" + g.ids["setUp"] + "/match?camera=" + g.ids["b"]
	card := func(camera, body, settings string) {
		g.clock.move(60e9)
		g.ask("POST", g.base+"/records/sample", g.fill(fmt.Sprintf(`{"setUp":"$setUp","camera":"$%s","body":"$%s","rgb":{"as":"codeValues","r":430,"g":430,"b":430,"bits":10,"range":"narrow","encoding":"bt1886","primaries":"bt709"},
			"settings":%s,"light":{"as":"reading","reading":"$reading"},"takenAt":%q}`, camera, body, settings, g.clock.now().Format("2006-01-02T15:04:05Z")))).want(201)
	}
	card("a", "body", `{"whiteMode":"kelvin","kelvin":5600,"tint":-3}`)
	card("b", "other", `{"whiteMode":"kelvin","kelvin":5800}`)
	first := g.ask("GET", match, "").want(200)
	if first.at("basis") != `"from samples"` || first.at("matched") != "false" || first.at("cards", "within") != "true" {
		t.Errorf("after a first card: got %s", first.body)
	}
	card("b", "other", `{"whiteMode":"kelvin","kelvin":5800}`)
	if second := g.ask("GET", match, "").want(200); second.at("matched") != "true" {
		t.Errorf("after a second card: got %s", second.body)
	}
}

func TestCorrectionsOfAClip(t *testing.T) {
	g := setStage(t)
	got := g.ask("GET", g.record("clip", "clip")+"/corrections", "").want(200)
	// The scene wants +15 mired, the body's raw mode leaves the white free.
	if got.at("basis") != `"card"` || got.at("toIntent", "takes") != `"kelvin"` || got.at("toNeutral", "takes") != `"kelvin"` {
		t.Fatalf("got %s", got.body)
	}
	intent, neutral := got.number("toIntent", "setting", "kelvin"), got.number("toNeutral", "setting", "kelvin")
	if !(intent > neutral) {
		t.Errorf("to intent %v K, to neutral %v K: want the warmer picture by the higher kelvin", intent, neutral)
	}
	if r := got.number("toIntent", "gain", "r") / got.number("toNeutral", "gain", "r"); r <= 1 {
		t.Errorf("red by intent over red by neutral is %v, want above 1", r)
	}
	g.ask("GET", g.base+"/records/clip/"+g.ids["take"]+"/corrections", "").want(404)
	auto := g.ask("POST", g.base+"/records/clip", g.fill(`{"setUp":"$setUp","camera":"$b","body":"$other","whiteMode":"auto"}`)).id()
	g.ask("GET", g.base+"/records/clip/"+auto+"/corrections", "").want(409)
}
