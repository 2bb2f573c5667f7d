package glance_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// anything draws records of all kinds whose fields hold any value that their rows
// allow, however senseless together, and references that lead anywhere.
type anything struct {
	*rand.Rand
	ids map[logbook.Kind][]logbook.ID
}

func (a *anything) id(to []logbook.Kind) logbook.ID {
	kind := kinds.Specs[a.IntN(len(kinds.Specs))].Kind
	if len(to) > 0 {
		kind = to[a.IntN(len(to))]
	}
	if all := a.ids[kind]; len(all) > 0 && a.IntN(50) > 0 {
		return all[a.IntN(len(all))]
	}
	return logbook.ID{1: 0xee, 15: byte(a.IntN(4) + 1)}
}

// number draws the ends of a range as often as its middle.
func (a *anything) number(f *kinds.Field) string {
	low, _ := strconv.ParseFloat(f.Min, 64)
	high, _ := strconv.ParseFloat(f.Max, 64)
	if f.Unit == "K" && a.IntN(10) < 7 { // what is usual, so that settings and aims meet
		return []string{"3200", "4300", "5600", "6500"}[a.IntN(4)]
	}
	switch a.IntN(8) {
	case 0:
		return f.Min
	case 1:
		return f.Max
	}
	v := low + a.Float64()*(high-low)
	if f.Type == kinds.Whole {
		return strconv.Itoa(int(v))
	}
	return strconv.FormatFloat(v, 'f', 4, 64)
}

func (a *anything) members(fields []kinds.Field, as string) string {
	var parts []string
	if as != "" {
		parts = append(parts, fmt.Sprintf(`"as":%q`, as))
	}
	for i := range fields {
		if fields[i].Required || a.IntN(2) == 0 {
			parts = append(parts, fmt.Sprintf("%q:%s", fields[i].Name, a.value(&fields[i])))
		}
	}
	return "{" + strings.Join(parts, ",") + "}"
}

func (a *anything) value(f *kinds.Field) string {
	switch f.Type {
	case kinds.Choice:
		return stage.Quoted(f.Choices[a.IntN(len(f.Choices))])
	case kinds.Flag:
		return []string{"true", "false"}[a.IntN(2)]
	case kinds.Whole, kinds.Decimal:
		return a.number(f)
	case kinds.Date:
		return `"2026-03-04"`
	case kinds.Instant:
		return stage.Stamp(a.IntN(300))
	case kinds.Reference:
		return stage.Ref(a.id(f.To))
	case kinds.Group:
		return a.members(f.Members, "")
	case kinds.Form:
		form := &f.Forms[a.IntN(len(f.Forms))]
		if a.IntN(2) == 0 {
			form = &f.Forms[0]
		}
		return a.members(form.Members, form.Name)
	case kinds.List:
		n := a.IntN(min(f.Longest, 4) + 1)
		items := make([]string, n)
		for i := range items {
			items[i] = a.value(f.Item)
		}
		return "[" + strings.Join(items, ",") + "]"
	}
	if f.Pattern != "" {
		return map[string]string{"timeZone": `"Europe/Oslo"`, "timecode": `"10:00:00:00"`, "dot": `"00c0ffee00c0ff09.1"`}[f.Pattern]
	}
	return []string{`"A"`, `"12"`, `"left of the door"`}[a.IntN(3)]
}

// howMany more than one there are of the kinds that make a day rich.
var howMany = map[logbook.Kind]int{
	kinds.Light: 3, kinds.Reading: 9, kinds.White: 2, kinds.Take: 3, kinds.Clip: 9,
	kinds.Camera: 1, kinds.Body: 1, kinds.Lamp: 1, kinds.Gel: 1, kinds.Acceptance: 3,
}

// TestWhateverIsInTheLogIsAnswered: what follows from records is computed from
// whatever people wrote; nothing panics, and no number is none (JSON refuses it).
func TestWhateverIsInTheLogIsAnswered(t *testing.T) {
	taken, refused := 0, 0
	for seed := range uint64(60) {
		a := &anything{rand.New(rand.NewPCG(seed, 2)), map[logbook.Kind][]logbook.ID{}}
		b := logbook.NewBook(logbook.ID{15: 1}, kinds.Rules)
		n := 0
		for i := range kinds.Specs {
			for range 1 + howMany[kinds.Specs[i].Kind] {
				n++
				a.ids[kinds.Specs[i].Kind] = append(a.ids[kinds.Specs[i].Kind], logbook.ID{0: 1, 14: byte(n / 256), 15: byte(n)})
			}
		}
		n = 0
		for i := range kinds.Specs {
			for _, id := range a.ids[kinds.Specs[i].Kind] {
				for j := range kinds.Specs[i].Fields {
					f := &kinds.Specs[i].Fields[j]
					if (f.Name == logbook.DeletedField || f.Name == "struckOut") && a.IntN(20) > 0 || !f.Required && a.IntN(4) == 0 {
						continue
					}
					name := f.Name
					if before, after, keyed := strings.Cut(name, "*"); keyed {
						name = before + a.key(f) + after
					}
					value, err := logbook.ParseValue(a.value(f))
					if err != nil {
						continue // a pattern that is not drawn here
					}
					n++
					e := &logbook.Edit{Production: logbook.ID{15: 1}, Kind: kinds.Specs[i].Kind, Record: id,
						Device: logbook.ID{15: 9}, At: stage.Minute(a.IntN(300)),
						Dot: logbook.Dot{Line: logbook.Line{7: 7}, N: uint64(n)}, Set: []logbook.Change{{Field: name, Value: value}}}
					if b.Apply(e) == nil {
						taken++
					} else {
						refused++
					}
				}
			}
		}
		answerEverything(t, seed, b, a)
	}
	if taken < 10*refused {
		t.Errorf("%d edits were taken and %d refused: the draw is too wild to test anything", taken, refused)
	}
}

func (a *anything) key(f *kinds.Field) string {
	prefix, _, _ := strings.Cut(f.Name, "/")
	if kind, ok := deviation.KeyKinds[prefix]; ok {
		return a.id([]logbook.Kind{kind}).String()
	}
	if prefix == "limits" {
		return strings.Fields(kinds.LimitRoles)[a.IntN(8)]
	}
	if prefix+"/" == logbook.SamePrefix {
		return logbook.ID{15: 0xff}.String()
	}
	return "A"
}

func answerEverything(t *testing.T, seed uint64, b *logbook.Book, a *anything) {
	t.Helper()
	marshal := func(what string, v any) {
		if _, err := json.Marshal(v); err != nil {
			t.Fatalf("seed %d: %s: %v", seed, what, err)
		}
	}
	answerColors(marshal, b, a)
	marshal("deviations", deviation.Of(b, deviation.Scope{}, stage.Minute(200)))
	for _, day := range a.ids[kinds.Day] {
		marshal("deviations of a day", deviation.Of(b, deviation.Scope{Day: day}, stage.Minute(200)))
	}
	for _, setUp := range a.ids[kinds.SetUp] {
		if n, err := glance.Now(b, setUp, stage.Minute(200)); err == nil {
			marshal("now", n)
		}
		for _, camera := range a.ids[kinds.Camera] {
			if m, err := advice.Match(b, advice.MatchQuery{SetUp: setUp, Camera: camera}, stage.Minute(200)); err == nil {
				marshal("match", m)
			}
		}
		view, ok := b.RecordOf(kinds.SetUp, setUp)
		if !ok {
			continue
		}
		summary := glance.Summarize(b, view)
		for _, clip := range b.Referring(kinds.Clip, "setUp", view.ID) {
			marshal("a clip", summary.Clip(clip))
		}
	}
}

// answerColors asks what one reading, sample or clip says, and for a plan, of
// whatever is in the log.
func answerColors(marshal func(string, any), b *logbook.Book, a *anything) {
	for _, setUp := range a.ids[kinds.SetUp] {
		if p, err := advice.Plan(b, setUp, stage.Minute(200)); err == nil {
			marshal("a plan", p)
		}
	}
	for _, lamp := range a.ids[kinds.Lamp] {
		if l, err := lighting.LearntOfLamp(b, lamp, stage.Minute(200)); err == nil {
			marshal("a lamp", l)
		}
	}
	for _, gel := range a.ids[kinds.Gel] {
		if l, err := lighting.LearntOfGel(b, gel, stage.Minute(200)); err == nil {
			marshal("a gel", l)
		}
	}
	for _, meter := range a.ids[kinds.Meter] {
		if l, err := lighting.LearntOfMeter(b, meter, stage.Minute(200)); err == nil {
			marshal("a meter", l)
		}
	}
	for i, reading := range a.ids[kinds.Reading] {
		other := lighting.SpectralReference{Name: "reading", Reading: a.ids[kinds.Reading][(i+1)%len(a.ids[kinds.Reading])]}
		for _, reference := range []lighting.SpectralReference{{}, {Name: "daylight"}, other} {
			if c, err := lighting.ColorOfReading(b, reading, reference); err == nil {
				marshal("a reading", c)
			}
		}
	}
	for _, sample := range a.ids[kinds.Sample] {
		if c, err := cameras.ColorOfSample(b, sample, stage.Minute(200)); err == nil {
			marshal("a sample", c)
		}
	}
	for _, clip := range a.ids[kinds.Clip] {
		if c, err := advice.Correct(b, clip, stage.Minute(200)); err == nil {
			marshal("corrections", c)
		}
	}
}
