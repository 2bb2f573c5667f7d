package lighting_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// typedTakes are takes as "3", "3A", "3 chart" or "3 falseStart", each a record of its own.
func typedTakes(t *testing.T, typed string) (all []logbook.View) {
	t.Helper()
	s := stage.New(t)
	var ids []logbook.ID
	for word := range strings.FieldsSeq(typed) {
		label, more, _ := strings.Cut(word, ":")
		number := strings.TrimRight(label, "ABC")
		fields := []string{"setUp", stage.Ref(s.SetUp), "number", number}
		if suffix := label[len(number):]; suffix != "" {
			fields = append(fields, "suffix", stage.Quoted(suffix))
		}
		if more != "" {
			name, value, _ := strings.Cut(more, "=")
			fields = append(fields, name, stage.Quoted(value))
		}
		ids = append(ids, s.Add(kinds.Take, fields...))
	}
	for _, id := range ids {
		v, ok := s.Book().RecordOf(kinds.Take, id)
		if !ok {
			t.Fatalf("no take %s", id)
		}
		all = append(all, v)
	}
	return all
}

func TestTakesAreNamedAsPeopleDo(t *testing.T) {
	for typed, want := range map[string]string{
		"":                  "",
		"3":                 "take 3",
		"3 3":               "take 3",
		"1 2":               "takes 1 and 2",
		"1 2 3":             "takes 1–3",
		"1 2 3 5":           "takes 1–3 and 5",
		"6 7 8 9 9":         "takes 6–9",
		"1 2 4 5 7 8 9":     "takes 1, 2, 4, 5 and 7–9",
		"3 3A 4":            "takes 3, 3A and 4",
		"3A 3B":             "takes 3A and 3B",
		"10 9 2 11":         "takes 2 and 9–11",
		"1 2 3 4A 4 5 6 12": "takes 1–4, 4A, 5, 6 and 12",
	} {
		if got := lighting.TakeNames(typedTakes(t, typed)); got != want {
			t.Errorf("%s: got %q, want %q", typed, got, want)
		}
	}
}

func TestWhatIsATake(t *testing.T) {
	var got []string
	const typed = "1 2:takeKind=take 3:takeKind=chart 4:takeKind=test 5:takeKind=falseStart 6:state=falseStart 7:state=noGood"
	for _, take := range typedTakes(t, typed) {
		if lighting.IsTake(take) {
			got = append(got, lighting.LabelOf(take).String())
		}
	}
	if fmt.Sprint(got) != "[1 2 7]" {
		t.Errorf("got %v, want 1, 2 and 7: a take that was no good is one", got)
	}
	if lighting.IsTake(logbook.View{}) {
		t.Error("no record is a take")
	}
}
