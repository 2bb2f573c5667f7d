package api

import (
	"encoding/json"
	"strings"
	"testing"
)

// What a device has, or wants, of a line is told once, in spans that rise. In either form of the
// exchange anything else is refused by the name of the member, and the line: else an edit
// would be sent twice, or not looked for.
func TestOverlappingSpansOfAnExchangeAreRefusedByName(t *testing.T) {
	g := setStage(t)
	for _, line := range []string{"00c0ffee00c0ffee", "a11ca11ca11ca11c"} {
		var edits []string
		for n := 1; n <= 9; n++ {
			edits = append(edits, g.edit(line, n, "gel", g.ids["gel"], `{"name":"full green"}`))
		}
		g.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`).want(200)
	}
	for name, spans := range map[string]struct{ readable, rows string }{
		"two share their end":                   {`"00c0ffee00c0ffee":[[1,3],[3,5]]`, `"00c0ffee00c0ffee",1,3,3,5`},
		"one lies in another":                   {`"00c0ffee00c0ffee":[[1,9],[2,3]]`, `"00c0ffee00c0ffee",1,9,2,3`},
		"one is told twice":                     {`"00c0ffee00c0ffee":[[1,2],[1,2]]`, `"00c0ffee00c0ffee",1,2,1,2`},
		"they fall":                             {`"00c0ffee00c0ffee":[[4,5],[1,2]]`, `"00c0ffee00c0ffee",4,5,1,2`},
		"one runs backwards":                    {`"00c0ffee00c0ffee":[[5,2]]`, `"00c0ffee00c0ffee",5,2`},
		"one begins at 0":                       {`"00c0ffee00c0ffee":[[0,2]]`, `"00c0ffee00c0ffee",0,2`},
		"a line comes again in capital letters": {`"a11ca11ca11ca11c":[[1,3]],"A11CA11CA11CA11C":[[2,5]]`, `"a11ca11ca11ca11c",1,3]` + "\n" + `["NAME","A11CA11CA11CA11C",2,5`},
	} {
		for _, member := range []string{"have", "want"} {
			t.Run(member+": "+name, func(t *testing.T) {
				p := g.ask("POST", g.base+"/exchange", `{"`+member+`":{`+spans.readable+`}}`).want(400).problem()
				if !strings.Contains(p.Detail, member+"/") || !strings.Contains(p.Detail, "allowed") {
					t.Errorf("readable: the detail does not say where in %s, and what is allowed: %s", member, p.Detail)
				}
				row := strings.ReplaceAll(`["`+member+`",`+spans.rows+"]\n", "NAME", member)
				p = g.ask("POST", g.base+"/exchange", "[\"rows\",1]\n"+row+"[\"end\",0]\n", "Content-Type", rowsMedia).want(400).problem()
				if !strings.Contains(p.Detail, member) || !strings.Contains(p.Detail, "row ") || !strings.Contains(p.Detail, "allowed") {
					t.Errorf("rows: the detail does not say the row, %s and what is allowed: %s", member, p.Detail)
				}
			})
		}
	}
	t.Run("spans side by side are answered", func(t *testing.T) {
		sent := func(request string) map[string]int {
			var a struct {
				Edits []struct {
					Line string
					N    int
				}
			}
			if err := json.Unmarshal(g.ask("POST", g.base+"/exchange", request).want(200).body, &a); err != nil {
				t.Fatal(err)
			}
			n := map[string]int{}
			for _, e := range a.Edits {
				if n[e.Line]++; e.Line == "00c0ffee00c0ffee" && (e.N < 3 || e.N > 6) {
					t.Errorf("%s: edit %d of the line came", request, e.N)
				}
			}
			return n
		}
		if n := sent(`{"want":{"00c0ffee00c0ffee":[[3,4],[5,6]]}}`); len(n) != 1 || n["00c0ffee00c0ffee"] != 4 {
			t.Errorf("of what is wanted %v came, want edits 3 to 6, each once", n)
		}
		if n := sent(`{"have":{"00c0ffee00c0ffee":[[1,1],[2,2],[7,9]]}}`); n["00c0ffee00c0ffee"] != 4 || n["a11ca11ca11ca11c"] != 9 {
			t.Errorf("beside what the device has %v came, want edits 3 to 6 and all of the other line", n)
		}
	})
}
