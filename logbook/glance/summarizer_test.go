//go:build !js

// Logs for measuring lie in bbolt files, which phones have none of.

package glance_test

import (
	"reflect"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// Else a colour log would hold what each of its set-ups takes of its day, until the last.
func TestASummarizerKeepsNothingOfTheSetUpBefore(t *testing.T) {
	b := logbook.NewBook(growth.Production, kinds.Rules)
	for e := range (growth.Size{Name: "some set-ups", Edits: 1500, Devices: 4}).All() {
		if err := b.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	setUps := b.Records(kinds.SetUp)
	if len(setUps) < 3 {
		t.Fatalf("got %d set-ups", len(setUps))
	}
	summarized := func(setUps []logbook.View) setup.Leans {
		r := glance.NewSummarizer(b)
		for _, setUp := range setUps {
			summary := r.Summarize(setUp)
			for _, clip := range b.Referring(kinds.Clip, "setUp", setUp.ID) {
				summary.Clip(clip)
			}
		}
		return glance.LeansOf(r)
	}
	want := summarized(setUps[2:3])
	if reflect.DeepEqual(want, setup.Leans{}) {
		t.Fatal("nothing is taken of other set-ups: nothing is tested")
	}
	if got := summarized(setUps[:3]); !reflect.DeepEqual(got, want) {
		t.Errorf("after three set-ups it holds\n%+v, want what the third takes:\n%+v", got, want)
	}
}
