package days_test

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

func (j *job) accept(d *dice) string {
	all := deviationsOf(j.known(), j.setUp, j.clock)
	for _, v := range all {
		if v.Value == nil || v.Value.Mired == nil || v.Accepted != nil {
			continue
		}
		fields := []string{"deviation", `"` + v.Kind + `"`, "subjects", refs(v.Subjects...), "scope", `"setUp"`, "reason", `"meant"`,
			"ceiling", `{"mired":300,"duv":0.05,"steps":500}`}
		if v.ComparedWith != nil && !v.ComparedWith.Record.IsZero() {
			fields = append(fields, "comparedWith", ref(v.ComparedWith.Record))
		}
		j.add(kinds.Acceptance, fields...)
		return did
	}
	return ""
}

func (j *job) closeDay(d *dice) string {
	j.set.set(j.day, "closed", fmt.Sprint(!d.once(3)))
	return did
}

func (j *job) referenceLight(d *dice) string {
	value := "null"
	if !d.once(3) {
		value = ref(oneOf(d, j.here.lights).id)
	}
	j.set.set(j.setUp, "referenceLight", value)
	return did
}

func (j *job) intent(d *dice) string {
	j.set.set(oneOf(d, j.here.lights).id, "intent", []string{`"holdOwnColor"`, `"leave"`, `"match"`}[d.pick(3)])
	return did
}

func (j *job) mustMatch(d *dice) string {
	p := oneOf(d, j.places)
	if p == j.here {
		return ""
	}
	j.set.set(j.setUp, "mustMatch", fmt.Sprintf(`{"setUp":%s}`, ref(p.setUp)))
	return did
}

func (j *job) newPlace(name string) {
	scene := j.scene
	id := j.add(kinds.SetUp, "day", ref(j.day), "scene", ref(scene), "name", `"`+name+`"`,
		"cameras/"+j.cameras[0].String()+"/inUse", "true", "cameras/"+j.cameras[1].String()+"/inUse", "true")
	j.enter(&place{setUp: id, day: j.day, dial: j.here.dial, sky: j.here.sky})
	j.source("key", "key", true, false)
}

func (j *job) nextSetUp(*dice) string {
	if len(j.places) >= 4 {
		return ""
	}
	j.newPlace(string(rune('A' + len(j.places))))
	return did
}

func (j *job) nextDay(d *dice) string {
	if len(j.places) >= 4 || j.clock > at(4*24*60) {
		return ""
	}
	into := (j.clock - dayBegins) % (24 * 60 * minute)
	j.clock += 24*60*minute - into
	j.day = j.add(kinds.Day, "number", fmt.Sprint(len(j.days)+1), "date", `"`+j.clock.Time().Format("2006-01-02")+`"`)
	j.days = append(j.days, j.day)
	j.newPlace(string(rune('A' + len(j.places))))
	return did
}

func (j *job) secondUnit(*dice) string {
	if len(j.places) >= 4 {
		return ""
	}
	j.day = j.add(kinds.Day, "number", fmt.Sprint(len(j.days)), "date", `"`+j.clock.Time().Format("2006-01-02")+`"`, "unit", `"second"`)
	j.newPlace(string(rune('A' + len(j.places))))
	return did
}

func (j *job) goBack(d *dice) string {
	if len(j.places) < 2 {
		return ""
	}
	j.goTo(oneOf(d, j.places))
	return did
}

func (j *job) otherPhone(*dice) string {
	j.hand = 1 - j.hand
	return did
}

// clockWrong: the phone in hand goes wrong by some minutes, and learns it.
func (j *job) clockWrong(d *dice) string {
	j.phones[j.hand].offset = logbook.Millis(d.pick(11)-5) * minute
	return did
}

func (j *job) part(*dice) string {
	if j.phones[0].apart {
		return ""
	}
	j.apart()
	return did
}

func (j *job) meet(*dice) string {
	if !j.phones[0].apart {
		return ""
	}
	j.together()
	return did
}
