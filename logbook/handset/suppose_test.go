package handset_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
)

// supposed is an answer to "suppose".
func (m *machine) supposed(kind logbook.Kind, typed string) (out glance.Supposed) {
	m.Helper()
	a := m.ask("suppose", fmt.Sprintf(`{"now":%d,"kind":"%s","typed":%s}`, asked, kind, typed), nil)
	if err := json.Unmarshal(a.JSON, &out); err != nil {
		m.Fatal(err)
	}
	return out
}

// What a white is supposed to say, it says once it is chosen: of every set-up the one in
// force, typed again, gives the answers of now.
func TestASupposedWhiteSaysWhatItWillSay(t *testing.T) {
	store := logbook.NewMemory()
	l := demoLog(t, store)
	m := heldBy(t, store)
	compared, dials := 0, 0
	l.Read(func(b *logbook.Book) {
		for _, setUp := range b.Records(kinds.SetUp) {
			n, err := glance.Now(b, setUp.ID, asked)
			if err != nil || n.White == nil || len(n.White.Contested) > 0 || n.White.SetUp != setUp.ID {
				continue
			}
			white, _ := b.RecordOf(kinds.White, n.White.White)
			typed, _ := logbook.ParseValue(string(amend.Object(white)))
			var members []logbook.Member
			for name, v := range typed.Members() {
				if name == "setUp" || name == "from" || name == "intendedCast" || name == "exceptions" || name == "appliesFrom" || name == "restsOn" {
					members = append(members, logbook.Member{Name: name, Value: v})
				}
			}
			got := m.supposed(kinds.White, string(logbook.ObjectValue(members)))
			if got.White.Color == nil || got.White.Color.Words != n.White.Color.Words || got.White.Words != n.White.Words {
				t.Errorf("%s: supposed %+v, in force %+v", setUp.Text("name"), got.White, n.White)
			}
			for i, want := range n.Lights {
				if a, b := inJSON(t, got.Lights[i].Cast), inJSON(t, want.Cast); a != b {
					t.Errorf("%s, light %s: supposed %s, now %s", setUp.Text("name"), want.Name, a, b)
				}
			}
			for i, want := range n.Cameras {
				if a, b := inJSON(t, got.Cameras[i]), inJSON(t, want); a != b {
					t.Errorf("%s, camera %s: supposed %s, now %s", setUp.Text("name"), want.Letter, a, b)
				}
				if want.ToDial != nil {
					dials++
				}
			}
			compared++
		}
	})
	if compared < 3 || dials < 3 {
		t.Errorf("%d whites and %d dials were compared: too few to say anything", compared, dials)
	}
}

// A reading that is typed again says of its light what now says of it.
func TestASupposedReadingSaysWhatItWillSay(t *testing.T) {
	store := logbook.NewMemory()
	l := demoLog(t, store)
	m := heldBy(t, store)
	compared := 0
	l.Read(func(b *logbook.Book) {
		for _, setUp := range b.Records(kinds.SetUp) {
			n, err := glance.Now(b, setUp.ID, asked)
			if err != nil {
				t.Fatal(err)
			}
			words := n.Verdicts()
			for i, want := range n.Lights {
				reading, ok := b.RecordOf(kinds.Reading, want.Reading)
				if !ok || want.How != "before" {
					continue
				}
				got := m.supposed(kinds.Reading, fmt.Sprintf(`{"setUp":"%s","measured":%s,"takenAt":"2026-03-07T11:40:00Z","of":{"as":"light","light":"%s"}}`,
					setUp.ID, reading.Value("measured"), want.Light))
				if a, b := inJSON(t, got.Lights[0].Cast), inJSON(t, want.Cast); a != b {
					t.Errorf("%s, %s: supposed %s, now %s", setUp.Text("name"), want.Name, a, b)
				}
				if a, b := inJSON(t, got.Lights[0].Within), inJSON(t, want.Within); a != b {
					t.Errorf("%s, %s: supposed inside %s, now %s", setUp.Text("name"), want.Name, a, b)
				}
				if a, b := inJSON(t, got.Verdicts.Lights[0]), inJSON(t, words.Lights[i]); want.On && words.Lights[i].Word != "old" && a != b {
					t.Errorf("%s, %s: supposed %s, now %s", setUp.Text("name"), want.Name, a, b)
				}
				compared++
			}
		}
	})
	if compared < 3 {
		t.Errorf("%d readings were compared: too few to say anything", compared)
	}
	everything := m.supposed(kinds.Reading, fmt.Sprintf(`{"setUp":"%s","measured":{"as":"cctDuv","cctKelvin":2000,"duv":0.001},
		"takenAt":"2026-03-07T11:40:00Z","of":{"as":"everything"}}`, lastSetUp(l).ID))
	if v := everything.Verdicts.Lights[0]; v.Word != "off" || v.Times == nil || *v.Times < 2 {
		t.Errorf("everything at 2000 K: %+v", v)
	}
}

func inJSON(t *testing.T, value any) string {
	t.Helper()
	text, err := json.Marshal(value)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
