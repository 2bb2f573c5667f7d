package slate

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A clipRule is how a body names its clips: pieces in a row. A name is known up to the
// first piece that nobody knows beforehand, and is matched by what stands before it.
type clipRule []namePiece

type namePiece struct {
	as     string // fixed, card, clip, date or tail
	text   string // of fixed; of date its pattern
	digits int
	start  int
	last   int // of clip: the number before it begins again
	reset  string
}

// clipRuleOf reads a body's rule; ok is false where it has none.
func clipRuleOf(body logbook.View) (rule clipRule, ok bool) {
	whole := func(v logbook.Value, absent int) int {
		if f, ok := v.Float(); ok {
			return int(f)
		}
		return absent
	}
	for item := range body.Value("clipNameRule").Items() {
		var p namePiece
		p.as, _ = item.Member("as").Text()
		p.text, _ = item.Member("text").Text()
		if p.as == "date" {
			p.text, _ = item.Member("pattern").Text()
		}
		p.digits = whole(item.Member("digits"), 1)
		p.start = whole(item.Member("start"), 1)
		p.last = min(whole(item.Member("rollOver"), tenTo(p.digits)-1), tenTo(p.digits)-1)
		p.reset, _ = item.Member("reset").Text()
		rule = append(rule, p)
	}
	return rule, len(rule) > 0
}

func tenTo(digits int) int {
	n := 1
	for range min(digits, 9) {
		n *= 10
	}
	return n
}

// reset says when the clip counter begins again; "" where the rule has none.
func (r clipRule) reset() string {
	for _, p := range r {
		if p.as == "clip" {
			return p.reset
		}
	}
	return ""
}

// name writes the name of a clip, as far as it is known beforehand.
func (r clipRule) name(card, clip int, date string) string {
	var out strings.Builder
	for _, p := range r {
		switch p.as {
		case "fixed":
			out.WriteString(p.text)
		case "card":
			out.WriteString(padded(card%tenTo(p.digits), p.digits))
		case "clip":
			out.WriteString(padded(clip, p.digits))
		case "date":
			text, ok := dateAs(p.text, date)
			if !ok {
				return out.String()
			}
			out.WriteString(text)
		default:
			return out.String()
		}
	}
	return out.String()
}

// nameOf is the name of a clip, and whether it was only counted.
func nameOf(clip logbook.View) (text string, counted bool) {
	name := clip.Value("name")
	text, _ = name.Member("text").Text()
	return text, name.Member("from") == byCount
}

// byCount says of a name that it was counted, not read off.
const byCount = logbook.Value(`"counted"`)

func nameValue(text, from logbook.Value) logbook.Value {
	return logbook.ObjectValue([]logbook.Member{{Name: "text", Value: text}, {Name: "from", Value: from}})
}

func padded(n, digits int) string {
	text := strconv.Itoa(n)
	return strings.Repeat("0", max(0, digits-len(text))) + text
}

// dateAs writes a date yyyy-mm-dd without its hyphens.
func dateAs(pattern, date string) (string, bool) {
	digits := strings.ReplaceAll(date, "-", "")
	if !kinds.IsDate(date) || len(pattern) > len(digits) {
		return "", false
	}
	return digits[len(digits)-len(pattern):], true
}

// clipNumber finds the clip counter in a name that follows the rule, or its
// beginning: the number, and where its digits stand.
func (r clipRule) clipNumber(name string) (number, at, end int, ok bool) {
	rest := 0
	for _, p := range r {
		if ok && rest == len(name) {
			return number, at, end, true
		}
		size := 0
		switch p.as {
		case "fixed":
			if !strings.HasPrefix(name[rest:], p.text) {
				return 0, 0, 0, false
			}
			rest += len(p.text)
			continue
		case "card", "clip":
			size = p.digits
		case "date":
			size = len(p.text)
		default:
			return number, at, end, ok
		}
		n, valid := digitsAt(name[rest:], size)
		if !valid {
			return 0, 0, 0, false
		}
		if p.as == "clip" {
			number, at, end, ok = n, rest, rest+size, true
		}
		rest += size
	}
	return number, at, end, ok
}

func digitsAt(text string, size int) (int, bool) {
	if len(text) < size {
		return 0, false
	}
	n, err := strconv.ParseUint(text[:size], 10, 32)
	return int(n), err == nil
}

// next is the number after another: the counter begins again after its last.
func (r clipRule) next(number int) int {
	for _, p := range r {
		if p.as == "clip" {
			if number >= p.last {
				return p.start
			}
			return number + 1
		}
	}
	return number
}

func (r clipRule) start(as string) int {
	for _, p := range r {
		if p.as == as {
			return p.start
		}
	}
	return 1
}

// following is the name after another one on the same card.
func (r clipRule) following(name string) (string, bool) {
	number, at, end, ok := r.clipNumber(name)
	if !ok {
		return "", false
	}
	return name[:at] + padded(r.next(number), end-at) + name[end:], true
}

// A clipCounter names a body's next clips. The counter belongs to the body and, where the
// rule says so, to the card or the day; never to the set-up.
type clipCounter struct {
	book  *logbook.Book
	rule  clipRule
	known bool
	last  map[string]int // the last number, by what the counter belongs to
	cards []string       // in the order of their first use
}

// counterOf looks at all that the body recorded.
func counterOf(b *logbook.Book, body logbook.View) *clipCounter {
	c := &clipCounter{book: b, last: map[string]int{}}
	if c.rule, c.known = clipRuleOf(body); !c.known {
		return c
	}
	if len(body.Members()) == 1 {
		return countedOf(b, body, c)
	}
	for _, clip := range b.Referring(kinds.Clip, "body", body.ID) {
		c.count(clip)
	}
	return c
}

// count looks at one clip after another, in the order in which they were made. A name that
// was read off sets the counter; one that was counted never sets it back, so that a take
// inserted later leaves it alone.
func (c *clipCounter) count(clip logbook.View) {
	if !clip.Flag("rolled", true) {
		return
	}
	card := clip.Text("card")
	key := c.key(card, dayOf(c.book, clip))
	number := c.step(key)
	c.note(card)
	text, counted := nameOf(clip)
	if read, _, _, ok := c.rule.clipNumber(text); ok {
		if counted && read < number && number > c.rule.start("clip") {
			return
		}
		number = read
	}
	c.last[key] = number
}

// clone is a counter that goes on by itself.
func (c *clipCounter) clone() *clipCounter {
	twin := *c
	twin.last, twin.cards = maps.Clone(c.last), slices.Clip(c.cards)
	return &twin
}

func (c *clipCounter) note(card string) {
	if !slices.Contains(c.cards, card) {
		c.cards = append(c.cards, card)
	}
}

func (c *clipCounter) key(card string, day logbook.View) string {
	switch c.rule.reset() {
	case "newCard":
		return card
	case "daily":
		return day.ID.String()
	}
	return ""
}

// step is the number that follows; the counter itself stays.
func (c *clipCounter) step(key string) int {
	if last, ok := c.last[key]; ok {
		return c.rule.next(last)
	}
	return c.rule.start("clip")
}

// next counts one clip and returns its name; "" where the body's rule is not
// known.
func (c *clipCounter) next(card string, day logbook.View) string {
	if !c.known {
		return ""
	}
	key := c.key(card, day)
	number := c.step(key)
	c.last[key] = number
	c.note(card)
	return c.rule.name(c.cardNumber(card), number, day.Text("date"))
}

// cardNumber is the number at the end of what stands on a card, else how many
// cards the body had.
func (c *clipCounter) cardNumber(card string) int {
	digits := len(card) - len(strings.TrimRight(card, "0123456789"))
	if n, ok := digitsAt(card[len(card)-digits:], min(digits, 9)); ok && digits > 0 {
		return n
	}
	for i, known := range c.cards {
		if known == card {
			return c.rule.start("card") + i
		}
	}
	return c.rule.start("card") + len(c.cards)
}

// cardAfter is the name of the card after another: its number at the end plus
// one; ok is false where it has none.
func cardAfter(card string) (string, bool) {
	head := strings.TrimRight(card, "0123456789")
	digits := len(card) - len(head)
	n, ok := digitsAt(card[len(head):], digits)
	if digits == 0 || digits > 9 || !ok {
		return "", false
	}
	return head + padded(n+1, digits), true
}

// dayOf is the shooting day that a record's set-up was chosen for.
func dayOf(b *logbook.Book, v logbook.View) logbook.View {
	setUp, ok := b.RecordOf(kinds.SetUp, v.Ref("setUp"))
	if !ok {
		return logbook.View{}
	}
	return dayOfSetUp(b, setUp)
}

func dayOfSetUp(b *logbook.Book, setUp logbook.View) logbook.View {
	day, _ := b.RecordOf(kinds.Day, setUp.Ref("day"))
	return day
}
