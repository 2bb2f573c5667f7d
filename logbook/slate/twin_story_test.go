package slate_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/slate"
)

// A unit is a set-up with cameras A and B and a phone for the assistant of each.
// Both phones hold the set-up and are out of each other's reach.
type unit struct {
	t       *testing.T
	log     *exchange.Peer
	setUp   logbook.ID
	body    logbook.ID
	cameras map[string]logbook.ID
	phones  map[string]*exchange.Replica
	met     map[string]logbook.Line
	takes   map[string]logbook.ID // by assistant and number: "B 3"
	clips   map[string]logbook.ID // by assistant, number and camera: "B 3 A"
	ids     int
	now     logbook.Millis
}

func newUnit(t *testing.T) *unit {
	u := &unit{
		t: t, log: exchange.NewPeer(logtest.Open(t, logbook.NewMemory(), kinds.Rules, 0x10)),
		cameras: map[string]logbook.ID{}, phones: map[string]*exchange.Replica{}, met: map[string]logbook.Line{},
		takes: map[string]logbook.ID{}, clips: map[string]logbook.ID{}, ids: 200, now: 1_772_600_000_000,
	}
	day := u.make(nil, kinds.Day, `{"number":1,"date":"2026-03-04"}`)
	u.body = u.make(nil, kinds.Body, `{"label":"b1","whiteModes":["kelvin"],"timecode":"timeOfDay"}`)
	for _, letter := range []string{"A", "B"} {
		u.cameras[letter] = u.make(nil, kinds.Camera, fmt.Sprintf(`{"letter":%q,"body":{"body":%s}}`, letter, logbook.IDValue(u.body)))
	}
	u.setUp = u.make(nil, kinds.SetUp, fmt.Sprintf(`{"day":%s,"name":"12A","cameras":{%s:{"inUse":true},%s:{"inUse":true}}}`,
		logbook.IDValue(day), logbook.IDValue(u.cameras["A"]), logbook.IDValue(u.cameras["B"])))
	for i, name := range []string{"A", "B"} {
		u.phones[name] = exchange.NewReplica(logtest.Production, deviceOf(name), kinds.Rules, logtest.Lines(byte(0x60+i)))
	}
	u.meet()
	return u
}

// deviceOf is the device of an assistant.
func deviceOf(name string) logbook.ID { return logtest.ID(60 + int(name[0]-'A')) }

// shown writes down all that a book shows, and which twins are asked about.
func shown(b *logbook.Book) string {
	return logtest.Records(b, b.Kinds()) + fmt.Sprintln(amend.Twins(b)) + logtest.Refused(b)
}

// make makes a record on a phone, or at the service where there is none.
func (u *unit) make(phone *exchange.Replica, kind logbook.Kind, object string) logbook.ID {
	u.t.Helper()
	v, err := logbook.ParseValue(object)
	if err != nil {
		u.t.Fatal(err)
	}
	changes, err := amend.Changes(kind, v)
	if err != nil {
		u.t.Fatal(err)
	}
	u.ids++
	id := logtest.ID(u.ids)
	u.write(phone, func(*logbook.Book) []logbook.Draft { return []logbook.Draft{{Kind: kind, Record: id, Set: changes}} })
	return id
}

func (u *unit) write(phone *exchange.Replica, drafts func(*logbook.Book) []logbook.Draft) {
	u.t.Helper()
	u.now += 20_000
	if phone == nil {
		w := logbook.Writer{Device: logtest.ID(50), By: "the desk", Now: u.now}
		if _, err := u.log.Change(w, func(b *logbook.Book) ([]logbook.Draft, error) { return drafts(b), nil }); err != nil {
			u.t.Fatal(err)
		}
		return
	}
	for _, d := range drafts(phone.Book()) {
		if _, err := phone.Write(d, "assistant", u.now, 0); err != nil {
			u.t.Fatal(err)
		}
	}
}

// rolls logs a take with the clip of one camera on the phone of an assistant.
func (u *unit) rolls(assistant string, number int) {
	u.t.Helper()
	phone := u.phones[assistant]
	u.takes[fmt.Sprint(assistant, " ", number)] = u.make(phone, kinds.Take, fmt.Sprintf(`{"setUp":%s,"number":%d}`, logbook.IDValue(u.setUp), number))
	u.clip(assistant, number, assistant, 5600)
}

func (u *unit) clip(assistant string, number int, camera string, kelvin int) {
	u.t.Helper()
	take := u.takes[fmt.Sprint(assistant, " ", number)]
	u.clips[fmt.Sprint(assistant, " ", number, " ", camera)] = u.make(u.phones[assistant], kinds.Clip,
		fmt.Sprintf(`{"setUp":%s,"camera":%s,"body":%s,"whiteMode":"kelvin","kelvin":%d,"takes":{%s:{}}}`,
			logbook.IDValue(u.setUp), logbook.IDValue(u.cameras[camera]), logbook.IDValue(u.body), kelvin, logbook.IDValue(take)))
}

// meet lets both phones exchange with the service until nothing moves.
func (u *unit) meet() {
	u.t.Helper()
	for range 2 {
		for _, name := range []string{"A", "B"} {
			for more := true; more; {
				a, err := u.log.Exchange(u.phones[name].Request(u.met[name]), deviceOf(name), u.now)
				if err != nil {
					u.t.Fatal(err)
				}
				u.met[name], more = u.phones[name].Take(a)
			}
		}
	}
	var here string
	u.log.Read(func(b *logbook.Book) { here = shown(b) })
	for name, phone := range u.phones {
		if there := shown(phone.Book()); there != here {
			u.t.Fatalf("the phone of %s shows\n%s\nthe service shows\n%s", name, there, here)
		}
	}
}

// questions are the takes that are asked about, run by run: "1 2, 4 5".
func (u *unit) questions() string {
	var runs []string
	u.log.Read(func(b *logbook.Book) {
		at := map[logbook.ID]int{}
		for _, t := range amend.Twins(b) {
			first, _ := b.Record(t.Records[0])
			second, _ := b.Record(t.Records[1])
			n, m := string(first.Value("number")), string(second.Value("number"))
			if n != m {
				n += "=" + m
			}
			if i, ok := at[t.Run]; ok {
				runs[i] += " " + n
			} else {
				at[t.Run] = len(runs)
				runs = append(runs, n)
			}
		}
	})
	return strings.Join(runs, ", ")
}

func (u *unit) answer(assistant string, number int, other string, same int, answer string) {
	u.t.Helper()
	u.write(nil, func(b *logbook.Book) []logbook.Draft {
		drafts, err := amend.AnswerAll(b, u.takes[fmt.Sprint(assistant, " ", number)], u.takes[fmt.Sprint(other, " ", same)], answer)
		if err != nil {
			u.t.Fatal(err)
		}
		return drafts
	})
	u.meet()
}

// shows is each take with the cameras whose clips it has, by number: "1AB 2AB 3A".
func (u *unit) shows() string {
	var all []string
	u.log.Read(func(b *logbook.Book) {
		takes := b.Referring(kinds.Take, "setUp", u.setUp)
		slate.SortByNumber(takes)
		for _, take := range takes {
			text := string(take.Value("number"))
			for _, letter := range []string{"A", "B"} {
				for _, clip := range b.Referring(kinds.Clip, "takes", take.ID) {
					if clip.Ref("camera") == u.cameras[letter] {
						text += letter
					}
				}
			}
			all = append(all, text)
		}
	})
	return strings.Join(all, " ")
}

func (u *unit) conflicts() string {
	var all []string
	u.log.Read(func(b *logbook.Book) {
		found := amend.Conflicts(b)
		for _, c := range found {
			all = append(all, string(c.Kind)+" "+c.Field)
		}
	})
	return strings.Join(all, ", ")
}

// deviations are those of a kind, in words.
func (u *unit) deviations(kind string) string {
	var all []string
	u.log.Read(func(b *logbook.Book) {
		for _, d := range deviation.Of(b, deviation.Scope{SetUp: u.setUp}, u.now) {
			if d.Kind == kind {
				all = append(all, d.Words)
			}
		}
	})
	return strings.Join(all, "; ")
}

func expect(t *testing.T, what, got, want string) {
	t.Helper()
	if got != want {
		t.Errorf("%s: got %q, want %q", what, got, want)
	}
}

const gapOfB = "camera B was not logged (take 3)"

func TestTheSameTakesLoggedOnTwoPhones(t *testing.T) {
	// A's assistant logs takes 1 to 5 with A's clips, B's misses take 3.
	apart := func(t *testing.T) *unit {
		u := newUnit(t)
		for number := 1; number <= 5; number++ {
			u.rolls("A", number)
			if number != 3 {
				u.rolls("B", number)
			}
		}
		return u
	}
	t.Run("are five takes with one gap after two answers, and nothing conflicts", func(t *testing.T) {
		u := apart(t)
		u.meet()
		expect(t, "what is asked", u.questions(), "1 2, 4 5")
		expect(t, "the gap before the answers", u.deviations(deviation.NotLogged), gapOfB)
		u.answer("A", 1, "B", 1, amend.TwinOne)
		expect(t, "what is still asked", u.questions(), "4 5")
		u.answer("B", 5, "A", 5, amend.TwinOne)
		expect(t, "what is still asked", u.questions(), "")
		expect(t, "the takes and their clips", u.shows(), "1AB 2AB 3A 4AB 5AB")
		expect(t, "the gap", u.deviations(deviation.NotLogged), gapOfB)
		expect(t, "takes that stand twice", u.deviations(deviation.TakeNumberTwice), "")
		expect(t, "conflicts", u.conflicts(), "")
	})
	t.Run("conflict only where both speak of the same camera", func(t *testing.T) {
		u := apart(t)
		u.clip("B", 4, "A", 4300) // B's assistant saw A's display
		u.meet()
		u.answer("A", 1, "B", 1, amend.TwinOne)
		u.answer("A", 4, "B", 4, amend.TwinOne)
		expect(t, "the takes and their clips", u.shows(), "1AB 2AB 3A 4AB 5AB")
		expect(t, "conflicts", u.conflicts(), "clip kelvin")
	})
	t.Run("whose numbers shifted are put right first, and then asked about the same", func(t *testing.T) {
		u := newUnit(t)
		for number := 1; number <= 5; number++ {
			u.rolls("A", number)
			switch {
			case number < 3:
				u.rolls("B", number)
			case number > 3: // B's assistant does not know that one was missed
				u.rolls("B", number-1)
			}
		}
		for _, number := range []int{4, 3} {
			take := u.takes[fmt.Sprint("B ", number)]
			u.write(u.phones["B"], func(b *logbook.Book) []logbook.Draft {
				v, _ := b.Record(take)
				return v.Drafts([]logbook.Change{logbook.Replace(v, "number", logbook.Value(fmt.Sprint(number+1)))})
			})
		}
		u.meet()
		expect(t, "what is asked", u.questions(), "1 2, 4 5")
		u.answer("A", 2, "B", 2, amend.TwinOne)
		u.answer("A", 4, "B", 3, amend.TwinOne) // which is take 4 now
		expect(t, "the takes and their clips", u.shows(), "1AB 2AB 3A 4AB 5AB")
		expect(t, "the gap", u.deviations(deviation.NotLogged), gapOfB)
	})
	t.Run("are two where one answer says so, and one again where the next takes it back", func(t *testing.T) {
		u := apart(t)
		u.meet()
		u.answer("A", 4, "B", 4, amend.TwinTwo)
		expect(t, "what is still asked", u.questions(), "1 2")
		expect(t, "the takes and their clips", u.shows(), "1A 1B 2A 2B 3A 4A 4B 5A 5B")
		u.answer("A", 4, "B", 4, amend.TwinOne)
		expect(t, "the takes after one of them was taken back", u.shows(), "1A 1B 2A 2B 3A 4AB 5A 5B")
	})
	t.Run("are struck out together, and brought back together", func(t *testing.T) {
		u := apart(t)
		u.meet()
		u.answer("A", 1, "B", 1, amend.TwinOne)
		whole := func() (v logbook.View) {
			u.log.Read(func(b *logbook.Book) { v, _ = b.Record(u.takes["B 1"]) })
			return v
		}
		before := len(whole().Edits())
		u.write(nil, func(b *logbook.Book) []logbook.Draft {
			return whole().Drafts([]logbook.Change{logbook.Strike(whole())})
		})
		u.meet()
		expect(t, "the takes after take 1 was struck out", u.shows(), "2AB 3A 4A 4B 5A 5B")
		u.write(nil, func(b *logbook.Book) []logbook.Draft { return amend.Restore(whole()) })
		u.meet()
		expect(t, "the takes after it was brought back", u.shows(), "1AB 2AB 3A 4A 4B 5A 5B")
		if v := whole(); len(v.Members()) != 2 || len(v.Edits()) != before+4 || v.Deleted() {
			t.Errorf("got %v with %d edits, want two records that read as one, with the history of both: %d edits",
				v.Members(), len(v.Edits()), before+4)
		}
	})
	t.Run("are brought back alone where they were struck out apart", func(t *testing.T) {
		u := apart(t)
		u.meet()
		for _, name := range []string{"A 1", "B 1"} {
			u.write(nil, func(b *logbook.Book) []logbook.Draft {
				v, _ := b.Record(u.takes[name])
				return v.Drafts([]logbook.Change{logbook.Strike(v)})
			})
		}
		u.write(nil, func(b *logbook.Book) []logbook.Draft {
			v, _ := b.Record(u.takes["A 1"])
			return amend.Restore(v)
		})
		expect(t, "the takes", u.shows(), "1A 2A 2B 3A 4A 4B 5A 5B")
	})
}
