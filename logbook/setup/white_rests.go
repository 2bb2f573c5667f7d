package setup

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strconv"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// What a white rests on is written into it by whoever makes the edit. Where it is not, it is
// looked up as the log stood when the white was entered.

// An input is a record that a white rests on, with the weight that it counts with; none: by
// its illuminance in a mix, else 1.
type input struct {
	record logbook.ID
	weight logbook.Value
}

// mostInputs is what the list can hold.
const mostInputs = 256

// restsOn reads the list of a white. It counts only where the edit that set the rule wrote
// it: nobody adds it later.
func restsOn(white logbook.View) (inputs []input, listed bool) {
	rule := white.Field("from").Shown
	for _, version := range white.Field("restsOn").Heads {
		if version.Dot != rule.Dot {
			continue
		}
		for item := range version.Value.Items() {
			if id, ok := item.Member("record").ID(); ok {
				inputs = append(inputs, input{id, item.Member("weight")})
			}
		}
		return inputs, true
	}
	return nil, false
}

// followsTheLog reports whether a rule names less than it rests on.
func followsTheLog(as string) bool { return as != "readings" && as != "nominal" }

// allHere reports what of the inputs is not in the log yet.
func (r *resolver) allHere(inputs []input) error {
	for _, in := range inputs {
		if _, ok := r.book.Record(in.record); !ok {
			return fmt.Errorf("%w: not known here yet: record %s, which it rests on, is not in the log", figure.ErrUnknown, in.record)
		}
	}
	return nil
}

// RestsOn lists what a white would rest on that is made now with the fields given, in the
// form of its field restsOn. ok is false where that cannot be told: something that the rule
// needs is missing.
func RestsOn(b *logbook.Book, set []logbook.Change, now logbook.Millis) (list logbook.Value, ok bool) {
	c := choice{at: now, entered: logbook.Ever}
	for _, change := range set {
		switch change.Field {
		case "from":
			c.rule = change.Value
		case "setUp":
			if id, ok := change.Value.ID(); ok {
				c.setUp = b.Resolve(id)
			}
		}
	}
	if _, known := kinds.Of(kinds.White); !known || c.rule == "" {
		return "", false
	}
	inputs, err := newResolver(b).lookUp(c)
	if err != nil || len(inputs) > mostInputs || newResolver(b).allHere(inputs) != nil {
		return "", false
	}
	items := make([]logbook.Value, len(inputs))
	for i, in := range inputs {
		members := []logbook.Member{{Name: "record", Value: logbook.IDValue(in.record)}}
		if in.weight != "" {
			members = append(members, logbook.Member{Name: "weight", Value: in.weight})
		}
		items[i] = logbook.ObjectValue(members)
	}
	return logbook.ListValue(items), true
}

// NotInput says which of the records in a list are of a kind that no white rests on. One
// that is not in the log may come in later.
func NotInput(b *logbook.Book, list logbook.Value) (wrong []logbook.ID) {
	for item := range list.Items() {
		id, _ := item.Member("record").ID()
		if v, ok := b.Record(id); ok && !slices.Contains([]logbook.Kind{kinds.Reading, kinds.Sample, kinds.White}, v.Kind) {
			wrong = append(wrong, id)
		}
	}
	return wrong
}

// lookUp finds what a rule rests on as of a choice.
func (r *resolver) lookUp(c choice) ([]input, error) {
	switch c.as() {
	case "readings":
		var all []input
		for item := range c.rule.Member("readings").Items() {
			if id, ok := item.Member("reading").ID(); ok {
				all = append(all, input{id, item.Member("weight")})
			}
		}
		return all, nil
	case "mix":
		position, _ := c.rule.Member("position").Text()
		used, err := r.mixReadings(c, position)
		return unweighed(used), err
	case "compromise":
		return r.compromiseReadings(c)
	case "cameraSetting":
		label, body, err := r.labelOf(c)
		if err != nil {
			return nil, err
		}
		e, ok := cameras.ErrorByCards(r.book, body, settingQuery(body, label, c.at, c.known()))
		if !ok || !e.Counts() { // what says too little moves nothing
			return nil, nil
		}
		return weighedBy(e.RestsOn), nil
	case "customFromCard":
		id, _ := c.rule.Member("sample").ID()
		return append([]input{{record: id}}, weighedBy(cameras.BehindCard(r.book, id, c.known()))...), nil
	case "sameAs":
		white, err := r.sameWhite(c)
		return []input{{record: white.ID}}, err
	}
	return nil, nil
}

func unweighed(readings []*lighting.Reading) (all []input) {
	for _, m := range readings {
		all = append(all, input{record: m.Reading})
	}
	return all
}

// known are the cards that a choice knows: where it is made now, those shot until now.
func (c choice) known() cameras.Known {
	if c.entered == logbook.Ever {
		return cameras.Known{}
	}
	return cameras.KnownBy(c.at)
}

// weighedBy lists what cards teach by, the heaviest first.
func weighedBy(rests []cameras.Rest) (all []input) {
	heaviest := 0.0
	for _, rest := range rests {
		heaviest = max(heaviest, rest.Weight)
	}
	rests = slices.Clone(rests)
	sort.SliceStable(rests, func(i, j int) bool { return rests[i].Weight > rests[j].Weight })
	seen := logbook.IDSet{}
	for _, rest := range rests {
		if seen[rest.Record] {
			continue
		}
		seen.Add(rest.Record)
		in := input{record: rest.Record}
		if rest.Weight > 0 {
			in.weight = logbook.Value(strconv.FormatFloat(figure.RoundTo(rest.Weight/heaviest, weightDecimals), 'f', -1, 64))
		}
		all = append(all, in)
	}
	return all
}

// weightDecimals are those of a weight that is stored, as part of the greatest.
const weightDecimals = 4

// mixReadings are the readings that the mix consists of as of a choice.
func (r *resolver) mixReadings(c choice, position string) (used []*lighting.Reading, err error) {
	mix, err := r.measuredThen(c).Mix(position, c.moment())
	if err != nil {
		return nil, err
	}
	r.origin.Caveats = append(r.origin.Caveats, mix.Caveats...)
	return mix.Readings, nil
}

// measuredThen is what was measured of a set-up's lights, as it stood at a choice: by the
// lights and takes that were entered until then, struck out since or not.
func (r *resolver) measuredThen(c choice) *Measured {
	setUp, _ := r.book.RecordOf(kinds.SetUp, c.setUp)
	m := measuredIn(r.book, setUp, r.readingsThen(c))
	if c.entered == logbook.Ever {
		return m
	}
	takes := r.enteredThen(kinds.Take, c.setUp, c)
	at := takeMoments(r.book, takes)
	m.sky = lighting.SkyOf(m.readings, takes, func(take logbook.View) logbook.Millis { return at[take.ID] })
	m.lights = r.enteredThen(kinds.Light, c.setUp, c)
	return m
}

// enteredThen are the records of a set-up as they stood at a choice, by when they were entered.
func (r *resolver) enteredThen(kind logbook.Kind, setUp logbook.ID, c choice) (all []logbook.View) {
	for _, v := range r.book.AllReferring(kind, "setUp", setUp) {
		if v.CreatedAt() <= c.entered && !lighting.WithdrawnAt(v, c.entered) {
			all = append(all, v)
		}
	}
	return all
}

// moment is that for which lights are asked: a choice that is made now knows all.
func (c choice) moment() logbook.Millis {
	if c.entered == logbook.Ever {
		return logbook.Ever
	}
	return c.at
}

// compromiseReadings takes the lights that are named, else those that are on and are to
// match.
func (r *resolver) compromiseReadings(c choice) (all []input, err error) {
	weights := map[logbook.ID]logbook.Value{}
	for item := range c.rule.Member("lights").Items() {
		if id, ok := item.Member("light").ID(); ok {
			weights[r.book.Resolve(id)] = cmp.Or(item.Member("weight"), "1")
		}
	}
	then := r.measuredThen(c)
	for _, light := range then.Lights() {
		weight, named := weights[light.ID]
		if len(weights) == 0 {
			weight, named = "1", then.Course(light).OnAt(c.moment()) && lighting.Intent(light) == "match"
		}
		if !named {
			continue
		}
		spoken := then.Light(light, c.moment())
		if spoken.Reading == nil {
			return nil, fmt.Errorf("%w: for the compromise, %s: %s", figure.ErrUnknown, light.Text("name"), spoken.Problem)
		}
		all = append(all, input{spoken.Reading.Reading, weight})
	}
	return all, nil
}

// readingsThen are the readings of a set-up as they stood at a choice: taken and entered
// until then, struck out since or not. A choice that is made now knows all.
func (r *resolver) readingsThen(c choice) (all []*lighting.Reading) {
	if c.entered == logbook.Ever {
		return r.readingsOf(c.setUp)
	}
	views := r.enteredThen(kinds.Reading, c.setUp, c)
	superseded := logbook.IDSet{}
	for _, v := range views {
		superseded.Add(v.Ref("supersedes"))
	}
	for _, v := range views {
		if m := lighting.Read(r.book, v); !superseded[v.ID] && m.TakenAt <= c.at {
			all = append(all, m)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return lighting.Earlier(all[i], all[j]) })
	return all
}

// sameWhite is the white of the other set-up that a rule takes, as of a choice.
func (r *resolver) sameWhite(c choice) (white logbook.View, err error) {
	id, _ := c.rule.Member("setUp").ID()
	setUp, ok := r.book.RecordOf(kinds.SetUp, id)
	if !ok {
		return white, fmt.Errorf("%w: the set-up %s is not in the log", figure.ErrUnknown, id)
	}
	whites, takes := r.enteredThen(kinds.White, setUp.ID, c), r.enteredThen(kinds.Take, setUp.ID, c)
	at := takeMoments(r.book, takes)
	h := historyOf(r.book, whites, takes, func(take logbook.View) logbook.Millis { return at[take.ID] }, r.beside)
	next := h.coming(c.at)
	next.now = c.entered == logbook.Ever
	if white, ok = first(h.count(next)); !ok {
		return white, fmt.Errorf("%w: set-up %s had no white when this was decided", figure.ErrUnknown, setUp.Text("name"))
	}
	return white, nil
}

// beside resolves a white on the way to another: one that leads back is in a circle.
func (r *resolver) beside(white logbook.View) White {
	other := newResolver(r.book)
	for id := range r.seen {
		other.seen[id] = true
	}
	return whiteBy(other, white)
}

// typedAnew reports whether one of the fields of a record says something else now than at a
// moment.
func typedAnew(v logbook.View, since logbook.Millis, fields ...string) bool {
	for _, field := range fields {
		then, later := logbook.Value(""), false
		for _, e := range v.Edits() {
			change, ok := e.Change(field)
			switch {
			case !ok:
			case e.Corrected() > since:
				later = true
			default:
				then = change.Value
			}
		}
		if now := v.Value(field); later && !now.Equal(then) && (then != logbook.Null || now != "") {
			return true
		}
	}
	return false
}

// Outlived says on what a white rests that counts no more, and which record that is; "" where all
// of it does.
func (w *White) Outlived() (why string, gone logbook.ID) { return w.outlived, w.gone }

// sameColor reports whether two whites have colours that cannot be told apart.
func (r *resolver) sameColor(one, other logbook.View) bool {
	return !aimsApart(Aim{Aim: r.beside(one).Color}, Aim{Aim: r.beside(other).Color})
}

// noteGone notes a record that a choice rests on and that was struck out or replaced.
func (r *resolver) noteGone(id logbook.ID) {
	v, ok := r.book.Record(id)
	if !ok {
		return
	}
	what := map[logbook.Kind]string{kinds.Reading: "a reading", kinds.Sample: "a card", kinds.White: "a white"}[v.Kind]
	if what == "" || r.outlived != "" { // the first is told of
		return
	}
	how := ""
	if lighting.Withdrawn(v) {
		how = " that was struck out"
	}
	for _, by := range r.book.Referring(v.Kind, "supersedes", v.ID) {
		if how == "" && !lighting.Withdrawn(by) && !(v.Kind == kinds.White && r.sameColor(v, by)) {
			how = " that was replaced"
		}
	}
	if how != "" {
		r.outlived, r.gone = what+how, v.ID
	}
}
