package picture

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
)

// TestLabelsKeepClearOfEachOther: twelve lights of a usual set-up, two of them in
// one place.
func TestLabelsKeepClearOfEachOther(t *testing.T) {
	plane := jetty()
	plane.Points = plane.Points[:1]
	for i, k := range []float64{5600, 5600, 5450, 5300, 6100, 4300, 3200, 3150, 2900, 5000, 6500, 4700} {
		plane.Points = append(plane.Points, light(i+1, fmt.Sprintf("lamp no. %d on a stand", i+1), shown(k, 0.001*float64(i%4)), nil))
	}
	plane.Rings = plane.Rings[1:]
	var placed []element
	for _, e := range mustBePicture(t, Plane(plane)) {
		if e.name == "text" && strings.HasSuffix(e.at["class"], " o") {
			placed = append(placed, e)
		}
	}
	if len(placed) < 13+3 {
		t.Errorf("%d labels, want those of 12 lights, the white, and some of temperatures", len(placed))
	}
	for i, e := range placed {
		a, _ := e.extent(t)
		for _, o := range placed[:i] {
			if b, _ := o.extent(t); a.overlap(b) > 0 {
				t.Errorf("%q covers %q", strings.TrimSpace(e.text), strings.TrimSpace(o.text))
			}
		}
	}
}

// Whatever lies close together: no mark covers another, no label one or a mark, and each ring has its
// text and a line of its own.
func TestLabelsOfACrowdCoverNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		near := func(label string) figure.Shown {
			mired := rapid.Float64Range(175, 200).Draw(t, label+" mired")
			return shown(1e6/mired, rapid.Float64Range(-0.004, 0.006).Draw(t, label+" Duv"))
		}
		white := near("white")
		plane := glance.SetUpPlane{Name: "1", Words: "some", StepUV: 0.0011,
			Points: []glance.PlanePoint{{Mark: "white", Key: "white", Name: "white", Color: white}}}
		for i, steps := range []float64{4, 5, 7}[:rapid.IntRange(0, 3).Draw(t, "rings")] {
			r := circle("white", white, steps)
			r.Roles = []string{[]string{"camera", "key", "background"}[i]}
			plane.Rings = append(plane.Rings, r)
		}
		for i := range rapid.IntRange(0, 5).Draw(t, "lights") {
			plane.Points = append(plane.Points, light(i+1, "lamp on a stand", near("light"), anyVerdict(t, "within")))
		}
		for i := range rapid.IntRange(0, 3).Draw(t, "cameras") {
			plane.Points = append(plane.Points, glance.PlanePoint{Mark: "camera", Key: string(rune('A' + i)), Name: "camera",
				Color: near("camera"), Within: anyVerdict(t, "within")})
		}
		var labels, marks []box
		texts, dashes := "", map[string]bool{}
		ring := false
		for _, e := range mustBePicture(t, Plane(plane)) {
			b, _ := e.extent(t)
			ring = ring && e.name != "g" || e.at["data-ring"] != ""
			switch {
			case e.name == "text" && strings.HasSuffix(e.at["class"], " o"):
				labels = append(labels, b)
				texts += strings.TrimSpace(e.text) + "; "
			case e.name == "polyline" && ring:
				dashes[e.at["stroke-dasharray"]] = true
			case e.name == "circle" && e.at["r"] == "4.5", e.name == "rect" && e.at["width"] == "10":
				marks = append(marks, b)
			}
		}
		marks = marks[:len(plane.Points)-1] // those of the plane; the others are those of the list
		for i, a := range marks {
			for _, b := range marks[:i] {
				if a.overlap(b) > 0 {
					t.Fatalf("mark %d covers another", i)
				}
			}
		}
		for i, a := range labels {
			for _, b := range append(labels[:i:i], marks...) {
				if a.overlap(b) > 0 {
					t.Fatalf("label %d covers another or a mark, of %s", i, texts)
				}
			}
		}
		for _, r := range plane.Rings {
			if !strings.Contains(texts, "limit: "+r.Roles[0]+";") && !strings.Contains(texts, number(r.Steps)+" steps;") {
				t.Fatalf("the ring of %v steps has no label: %s", r.Steps, texts)
			}
		}
		if len(dashes) < len(plane.Rings) {
			t.Fatalf("%d rings are drawn with %d kinds of dashes", len(plane.Rings), len(dashes))
		}
	})
}
