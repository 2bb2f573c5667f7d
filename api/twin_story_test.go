package api

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

// A's and B's assistants log the same five takes on phones that are out of each
// other's reach; B's misses take 3.
func TestTheSameTakesLoggedOnTwoPhonesComeToBeFive(t *testing.T) {
	g := setStage(t)
	g.ids["story"] = g.ask("POST", g.base+"/records/setUp", g.fill(`{"day":"$day","name":"14","cameras":{"$a":{"inUse":true},"$b":{"inUse":true}}}`)).want(201).id()
	takes := map[string]string{}
	log := func(device *client, line, camera, body string, kelvin int, missed int) {
		mine := &stage{client: device, ids: g.ids}
		var edits []string
		for number := 1; number <= 5; number++ {
			if number == missed {
				continue
			}
			take := drawID().String()
			takes[fmt.Sprint(camera, number)] = take
			edits = append(edits,
				mine.edit(line, len(edits)+1, "take", take, fmt.Sprintf(`{"setUp":"$story","number":%d}`, number)),
				mine.edit(line, len(edits)+2, "clip", drawID().String(), fmt.Sprintf(`{"setUp":"$story","camera":"$%s","body":"$%s","whiteMode":"kelvin","kelvin":%d,"takes/%s":{}}`, camera, body, kelvin, take)))
		}
		if camera == "b" { // B's assistant saw A's display at take 4
			edits = append(edits, mine.edit(line, len(edits)+1, "clip", drawID().String(),
				fmt.Sprintf(`{"setUp":"$story","camera":"$a","body":"$body","whiteMode":"kelvin","kelvin":4300,"takes/%s":{}}`, takes["b4"])))
		}
		r := device.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`).want(200)
		if n := strings.Count(string(r.body), `"taken"`); n != len(edits) {
			t.Fatalf("%d of %d edits were taken: %s", n, len(edits), r.at("answers"))
		}
	}
	log(g.admit(pairing.Editor, "phone of A's assistant", g.production), lineOfOne, "a", "body", 5600, 0)
	log(g.admit(pairing.Editor, "phone of B's assistant", g.production), lineOfOther, "b", "other", 5600, 3)
	runs := func() string {
		r := g.ask("GET", g.base+"/twins", "").want(200)
		said := ""
		for i := range r.count("twins") {
			said += fmt.Sprintf("%s of %s ", r.at("twins", i, "run"), r.at("twins", i, "count"))
		}
		return said
	}
	answer := func(number int) {
		path := fmt.Sprintf("%s/twins/%s/%s", g.base, takes[fmt.Sprint("a", number)], takes[fmt.Sprint("b", number)])
		g.ask("PUT", path, `{"answer":"one","wholeRun":true}`).want(200)
	}
	colorLog := func() *reply { return g.ask("GET", g.base+"/color-log.json?setUp="+g.ids["story"], "").want(200) }

	got, twice := runs(), strings.Count(string(colorLog().body), `"twins":`)
	asked := strings.Fields(got) // run "of" count
	if len(asked) != 12 || asked[0] != asked[3] || asked[6] != asked[9] || asked[0] == asked[6] ||
		strings.Count(got, "of 2") != 4 || twice == 0 {
		t.Fatalf("asked is %q and %d rows say that their take stands twice, want two runs of two takes, and some", got, twice)
	}
	answer(1)
	answer(4)
	if got := runs(); got != "" {
		t.Errorf("after two answers %q is asked", got)
	}
	if n := g.ask("GET", g.base+"/records/take?setUp="+g.ids["story"], "").want(200).count("records"); n != 5 {
		t.Errorf("got %d takes, want five", n)
	}
	conflicts := g.ask("GET", g.base+"/conflicts", "").want(200)
	if conflicts.count("conflicts") != 1 || conflicts.at("conflicts", 0, "kind") != `"clip"` || conflicts.at("conflicts", 0, "field") != `"kelvin"` {
		t.Errorf("got %s, want the kelvin of A's clip in take 4, of which both spoke", conflicts.body)
	}
	gap := 0
	for i := range g.ask("GET", g.base+"/deviations?setUp="+g.ids["story"], "").want(200).count("deviations") {
		d := g.ask("GET", g.base+"/deviations?setUp="+g.ids["story"], "").at("deviations", i)
		if d.Member("kind") == `"not-logged"` {
			gap++
			if words, _ := d.Member("words").Text(); words != "camera B was not logged (take 3)" {
				t.Errorf("got the gap %q", words)
			}
		}
	}
	if gap != 1 {
		t.Errorf("%d gaps are shown, want one", gap)
	}
	once := map[string]int{}
	rows := colorLog()
	for i := range rows.count("rows") {
		find := rows.at("rows", i, "find")
		once[string(find.Member("take").Member("number"))+" "+string(find.Member("camera"))]++
	}
	if len(once) != 9 || rows.count("rows") != 9 || strings.Contains(string(rows.body), `"twins":`) {
		t.Errorf("the colour log has the rows %v, want each take once for each of its cameras, and no word of twins", once)
	}

	t.Run("struck out and brought back as one", func(t *testing.T) {
		path := g.base + "/records/take/" + takes["b2"]
		history := g.ask("GET", path+"/history", "").want(200).count("edits")
		g.ask("DELETE", path, "", "If-Match", g.ask("GET", path, "").want(200).tag()).want(200)
		if n := colorLog().count("rows"); n == 0 {
			t.Error("the colour log is empty")
		}
		r := g.ask("POST", path+"/restore", "", "If-Match", g.ask("GET", path, "").want(200).tag()).want(200)
		if r.at("deleted") == "true" || r.count("twins") != 1 {
			t.Errorf("got %s, want both records back, read as one", r.body)
		}
		if n := g.ask("GET", path+"/history", "").want(200).count("edits"); n != history+4 {
			t.Errorf("the history has %d edits, want %d and four more", n, history)
		}
		if n := g.ask("GET", g.base+"/records/take?setUp="+g.ids["story"], "").want(200).count("records"); n != 5 {
			t.Errorf("got %d takes, want five", n)
		}
	})
}
