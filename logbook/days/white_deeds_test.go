package days_test

import (
	"fmt"

	"evenwhite/logbook"
	"evenwhite/logbook/setup"
)

// whiteForms are the rules of a white; starts are the ways in which one begins.
var (
	whiteForms = []string{"nominal", "readings", "mix", "compromise", "cameraSetting", "customFromCard", "sameAs"}
	starts     = []string{"start", "takeNumber", "take", "time"}
)

// rule writes a rule of a form, a nominal one where there is nothing for it.
func (j *job) rule(form string, d *dice) (rule, made string) {
	switch {
	case form == "readings" && len(j.here.readings) > 0:
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(j.here.readings[len(j.here.readings)-1])), form
	case form == "mix", form == "compromise" && len(j.here.lights) > 1:
		if form == "mix" {
			return `{"as":"mix"}`, form
		}
		return fmt.Sprintf(`{"as":"compromise","lights":[{"light":%s,"weight":2},{"light":%s}]}`, ref(j.here.lights[0].id), ref(j.here.lights[1].id)), form
	case form == "cameraSetting":
		i := d.pick(2)
		return fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":%g}`, ref(j.cameras[i]), j.here.dial[i]), form
	case form == "customFromCard" && len(j.samples) > 0:
		return fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, ref(oneOf(d, j.samples))), form
	case form == "sameAs" && len(j.places) > 1:
		if p := oneOf(d, j.places); p != j.here {
			return fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, ref(p.setUp)), form
		}
	}
	return nominal(oneOf(d, []float64{5600, 3200, 4300, 5000})), "nominal"
}

// from writes a start: take numbers also of takes to come, and of takes long past.
func (j *job) from(start string, d *dice) (from, made string) {
	switch {
	case start == "takeNumber":
		return fromTake(max(1, j.here.number+1-d.pick(5))), start
	case start == "take" && len(j.here.takes) > 0:
		return fmt.Sprintf(`{"as":"take","take":%s}`, ref(oneOf(d, j.here.takes))), start
	case start == "time":
		return fmt.Sprintf(`{"as":"time","at":%s}`, stamp(j.clock-logbook.Millis(d.pick(40)-5)*minute)), start
	}
	return `{"as":"start"}`, "start"
}

// choose enters a white over the one that the phone in hand shows.
func (j *job) choose(d *dice) logbook.ID {
	rule, form := j.rule(oneOf(d, whiteForms), d)
	from, start := j.from(oneOf(d, starts), d)
	j.happened["white from "+form]++
	j.happened["white from its "+start]++
	fields := []string{"appliesFrom", from}
	if before := j.inForce(); !before.IsZero() && !d.once(8) {
		fields = append(fields, "supersedes", ref(before))
	}
	if d.once(5) {
		fields = append(fields, "intendedCast", fmt.Sprintf(`{"mired":%d}`, 5*d.pick(6)))
	}
	if list, ok := j.restsOn(rule); ok && !d.once(4) {
		fields = append(fields, "restsOn", list)
	}
	w := j.white(rule, fields...)
	j.here.whites = append(j.here.whites, w)
	return w
}

// restsOn lists what a white of a rule rests on, as the phone in hand shows it.
func (j *job) restsOn(rule string) (list string, ok bool) {
	v, err := logbook.ParseValue(rule)
	if err != nil {
		panic(err)
	}
	found, ok := setup.RestsOn(j.known(), []logbook.Change{
		{Field: "from", Value: v}, {Field: "setUp", Value: logbook.IDValue(j.setUp)},
	}, j.clock)
	return string(found), ok
}

func (j *job) whiteByRule(d *dice) string {
	j.choose(d)
	return did
}

// whitesApart: two phones that do not see each other choose one each.
func (j *job) whitesApart(d *dice) string {
	was, wasApart := j.hand, j.phones[0].apart
	if !wasApart {
		j.set.apart()
	}
	j.choose(d)
	j.clock += 2 * minute
	j.hand = 1 - j.hand
	j.choose(d)
	if !wasApart {
		j.set.together()
	}
	j.hand = was
	return did
}
