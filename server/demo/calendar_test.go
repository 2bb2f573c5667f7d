package demo

import (
	"encoding/json"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
)

var regexpClock = regexp.MustCompile(`"at": "[0-9:]{8}`)

// filled is the invented production, filled at a moment.
func filled(t *testing.T, now logbook.Millis) *logbook.Log {
	t.Helper()
	l, err := logbook.OpenLog(logbook.NewMemory(), Production, kinds.Rules, func() logbook.Line { return logbook.Line{1} })
	if err != nil {
		t.Fatal(err)
	}
	if err := Fill(l, now); err != nil {
		t.Fatal(err)
	}
	return l
}

// Whenever it is filled, the last day is today by the production's own clock, its last entry is
// 5 to 65 minutes old, and nothing in it is of the future.
func TestTheDemoEndsShortlyBeforeItIsFilled(t *testing.T) {
	for minute := 0; minute < 2*24*60; minute += 37 {
		at := time.Date(2028, 2, 28, 0, minute, 11, 0, time.UTC)
		now := logbook.MillisOf(at)
		c := calendarFor(now)
		last, err := c.localTime(c.date(lastDate), lastClock)
		if age := time.Duration(now-last) * time.Millisecond; err != nil || age < 5*time.Minute || age >= 65*time.Minute {
			t.Errorf("filled at %s, in %s: the last entry is %s old", at, c.zone, age)
		}
		if _, offset := at.In(c.zone).Zone(); offset < -11*3600 || offset > 12*3600 {
			t.Errorf("filled at %s: %s is not among the zones that filling again looks for", at, c.zone)
		}
		if today := at.In(c.zone).Format(time.DateOnly); c.date(lastDate) != today {
			t.Errorf("filled at %s, in %s: the last day is %s, today is %s", at, c.zone, c.date(lastDate), today)
		}
	}
	for _, at := range []time.Time{
		time.Date(2027, 12, 31, 23, 50, 0, 0, time.UTC), time.Date(2028, 2, 29, 4, 10, 0, 0, time.UTC),
		time.Date(2025, 7, 1, 12, 0, 0, 0, time.UTC),
	} {
		now := logbook.MillisOf(at)
		newest := logbook.Beginning
		filled(t, now).Read(func(b *logbook.Book) {
			production, _ := b.RecordOf(kinds.Production, Production)
			if _, err := time.LoadLocation(production.Text("timeZone")); err != nil {
				t.Error(err)
			}
			for e := range b.Applied() {
				newest = max(newest, e.Corrected())
			}
			for _, spec := range kinds.Specs {
				for _, v := range b.AllRecords(spec.Kind) {
					for field, value := range v.Values() {
						text, _ := value.Text()
						if when, err := time.Parse(time.RFC3339, text); err == nil && when.After(at) {
							t.Errorf("filled at %s: %s of a %s is %s", at, field, spec.Kind, text)
						}
					}
				}
			}
			for _, day := range b.Records(kinds.Day) {
				if number, _ := day.Number("number"); number == 4 && day.Text("date") != calendarFor(now).date(lastDate) {
					t.Errorf("day 4 is %s", day.Text("date"))
				}
			}
		})
		if age := time.Duration(now-newest) * time.Millisecond; age < 5*time.Minute || age > 65*time.Minute {
			t.Errorf("filled at %s: the newest edit is %s old", at, age)
		}
	}
}

// At the data's own constants the calendar moves nothing.
func TestTheCalendarKnowsItsData(t *testing.T) {
	c := calendarFor(asWritten)
	if c.days != 0 || c.zone.String() != "Etc/GMT-1" {
		t.Errorf("got %d days and %s", c.days, c.zone)
	}
	text, err := production.ReadFile("day4.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), `{"date": "`+lastDate+`"}`) || !strings.Contains(string(text), `"at": "`+lastClock+`"}`) {
		t.Errorf("day4.jsonl is not of %s, or does not end at %s", lastDate, lastClock)
	}
	for _, at := range regexpClock.FindAllString(string(text), -1) {
		if at > `"at": "`+lastClock {
			t.Errorf("%s is after the last entry, %s", at, lastClock)
		}
	}
	first, err := production.ReadFile("day0.jsonl")
	if err != nil || !strings.Contains(string(first), `{"date": "`+firstDate+`"}`) {
		t.Errorf("day0.jsonl is not of %s (%v)", firstDate, err)
	}
	const line = `{"a": "2026-02-28", "b": "2026-03-04T23:10:00+01:00", "c": "Etc/GMT-1", "d": "12:00:00:00"}`
	const want = `{"a": "2026-03-01", "b": "2026-03-05T23:10:00-08:00", "c": "Etc/GMT+8", "d": "12:00:00:00"}`
	if got := (calendar{days: 1, zone: zoneOf(-8)}).move(line); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

var offsets = regexp.MustCompile(`UTC[-+]\d+`)

// The story is the same on other days: rows differ in nothing but dates and offsets.
func TestTheDemoTellsTheSameOnOtherDays(t *testing.T) {
	told := func(l *logbook.Log) []colorlog.Row {
		rows := demoRows(t, l)
		for i := range rows {
			r := &rows[i]
			r.Find.Date, r.Find.StartedAt, r.Find.StartedLocal, r.Set.ReadOffAt = "", time.Time{}, "", nil
			r.Meant.Since, r.Meant.Words, r.Off = "", "", colorlog.Off{Count: r.Off.Count}
		}
		return rows
	}
	want := told(demoLog(t))
	got := told(filled(t, logbook.MillisOf(time.Date(2027, 12, 31, 23, 50, 0, 0, time.UTC))))
	if len(got) != len(want) {
		t.Fatalf("got %d rows, want %d", len(got), len(want))
	}
	for i := range want {
		a, _ := json.Marshal(got[i])
		b, _ := json.Marshal(want[i])
		if x, y := offsets.ReplaceAllString(string(a), "UTC"), offsets.ReplaceAllString(string(b), "UTC"); x != y {
			t.Fatalf("row %d: got\n%s\nwant\n%s", i, x, y)
		}
	}
}

// Filled again weeks later it stays where it was laid, whoever typed the production's zone anew.
func TestFillingTheDemoAgainLaterChangesNothing(t *testing.T) {
	now := logbook.MillisOf(time.Date(2027, 5, 6, 20, 15, 0, 0, time.UTC))
	l := filled(t, now)
	count := func() (n int) {
		l.Read(func(b *logbook.Book) { n = len(slices.Collect(b.Applied())) + len(b.Refused()) })
		return n
	}
	before, text := count(), string(demoDocument(t, l, colorlog.Scope{}, "json"))
	if err := Fill(l, now+30*24*3600*1000); err != nil {
		t.Fatal(err)
	}
	if count() != before || string(demoDocument(t, l, colorlog.Scope{}, "json")) != text {
		t.Error("filling it a month later changed something")
	}
}

// What a newcomer looks at first is fresh: the set-up that was shot last.
func TestAFirstLookAtTheDemoShowsFreshReadings(t *testing.T) {
	now := logbook.MillisOf(time.Date(2027, 5, 6, 20, 15, 0, 0, time.UTC))
	filled(t, now).Read(func(b *logbook.Book) {
		ages := map[string]float64{}
		for _, setUp := range b.Records(kinds.SetUp) {
			if day, _ := b.RecordOf(kinds.Day, setUp.Ref("day")); day.Text("date") != "2027-05-06" {
				continue
			}
			answer, err := glance.Now(b, setUp.ID, now)
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range answer.Lights {
				if l.AgeMinutes != nil {
					ages[setUp.Text("name")+" "+l.Name] = *l.AgeMinutes
				}
			}
		}
		for _, age := range slices.Collect(maps.Values(ages)) {
			if age < 0 || age > 12*60 {
				t.Errorf("got the ages %v in minutes, want those of a day", ages)
			}
		}
		if len(ages) == 0 {
			t.Error("no light of the last day was read")
		}
	})
}
