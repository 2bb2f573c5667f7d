package footage

import (
	"slices"
	"strings"
)

// A roll is what a body recorded on one card, from putting it in to taking it out, as the log
// has it.
type roll struct {
	rows  []*Row
	head  string // what names have before the number of the clip
	reels []*reel
	clock clock
	begin map[int]float64 // when each number began, in s
}

// begun says when the clip of each number began, by the log.
func (r *roll) begun() map[int]float64 {
	if r.begin == nil {
		r.begin = make(map[int]float64, len(r.rows))
		for _, row := range r.rows {
			if row.number >= 0 {
				r.begin[row.number] = float64(row.At) / 1000
			}
		}
	}
	return r.begin
}

// first is a row of the roll that says its card, camera and day.
func (r *roll) first() *Row { return r.rows[0] }

// runs cuts a name into digits and what stands between them.
func runs(name string) (parts []string) {
	from := 0
	for i := 1; i <= len(name); i++ {
		if i == len(name) || isDigit(name[i]) != isDigit(name[i-1]) {
			parts = append(parts, name[from:i])
			from = i
		}
	}
	return parts
}

// counterAt is which run of digits counts the clips of a body: the one that changes most often from
// a name to the next.
func counterAt(rows []*Row) int {
	var changes []int
	var before []string
	for _, row := range rows {
		var digits []string
		for _, part := range runs(row.Name) {
			if isDigit(part[0]) {
				digits = append(digits, part)
			}
		}
		for i := 0; i < len(digits) && i < len(before); i++ {
			for len(changes) <= i {
				changes = append(changes, 0)
			}
			if digits[i] != before[i] {
				changes[i]++
			}
		}
		if len(digits) > 0 {
			before = digits
		}
	}
	if len(changes) == 0 {
		if len(before) == 0 {
			return 0
		}
		return len(before) - 1 // a body of one clip: its last
	}
	return slices.Index(changes, slices.Max(changes))
}

// count finds the number of the clip in the name of a row, and what stands before it.
func (row *Row) count(at int) {
	row.number, row.head = -1, ""
	head := ""
	for _, part := range runs(upper(row.Name)) {
		if isDigit(part[0]) {
			if at == 0 {
				if n, ok := wholeOf(part); ok {
					row.number, row.head = n, head
				}
				return
			}
			at--
		}
		head += part
	}
}

func wholeOf(digits string) (n int, ok bool) {
	if len(digits) > 9 {
		return 0, false
	}
	for i := 0; i < len(digits); i++ {
		n = n*10 + int(digits[i]-'0')
	}
	return n, true
}

// rollsOf cuts the clips of all bodies, which stand in order, into rolls.
func rollsOf(rows []*Row) (all []*roll) {
	for from := 0; from < len(rows); {
		to := from
		for to < len(rows) && rows[to].Body == rows[from].Body {
			to++
		}
		at := counterAt(rows[from:to])
		for _, row := range rows[from:to] {
			row.count(at)
		}
		all = append(all, rollsOfBody(rows[from:to])...)
		from = to
	}
	return all
}

func (row *Row) cardKey() string {
	if row.Card != "" {
		return row.Card
	}
	return row.head
}

// rollsOfBody begins a roll where the card changes, and where on another day the numbers begin again:
// the same card, emptied. One row that differs from both its neighbours is a slip.
func rollsOfBody(rows []*Row) (all []*roll) {
	var now *roll
	key, last := "", -1
	for i, row := range rows {
		mine := row.cardKey()
		slip := now != nil && i+1 < len(rows) && mine != key && rows[i+1].cardKey() == key
		again := now != nil && row.Day != rows[i-1].Day && (beginsAgain(rows[i:], last) || row.Card == "" && row.number < 0)
		if now == nil || mine != key && !slip || again {
			now, key, last = &roll{}, mine, -1
			all = append(all, now)
		}
		now.rows = append(now.rows, row)
		if row.number >= 0 {
			last = row.number
		}
	}
	for _, r := range all {
		r.head = r.commonHead()
	}
	return all
}

// beginsAgain reports whether two of the next names count from anew.
func beginsAgain(rows []*Row, last int) bool {
	lower, seen := 0, 0
	for _, row := range rows[:min(3, len(rows))] {
		if row.number >= 0 {
			seen++
			if row.number <= last {
				lower++
			}
		}
	}
	return lower*2 > seen
}

// commonHead is what most names begin with.
func (r *roll) commonHead() string {
	count, best := map[string]int{}, ""
	for _, row := range r.rows {
		if row.number < 0 {
			continue
		}
		count[row.head]++
		if count[row.head] > count[best] || count[row.head] == count[best] && row.head < best {
			best = row.head
		}
	}
	padded := false
	for _, row := range r.rows {
		padded = padded || row.head == best && strings.HasPrefix(row.digits(), "0")
	}
	wide := commonWidth(r.rows)
	for _, row := range r.rows {
		if row.head != best || padded && len(row.digits()) != wide {
			row.number = -1 // a slip: it counts for nothing
		}
	}
	return best
}

// digits are those of the number in a name.
func (row *Row) digits() string {
	rest := strings.TrimPrefix(upper(row.Name), row.head)
	return rest[:len(rest)-len(strings.TrimLeft(rest, "0123456789"))]
}

// commonWidth is how many digits most numbers have.
func commonWidth(rows []*Row) (best int) {
	count := map[int]int{}
	for _, row := range rows {
		if n := len(row.digits()); row.number >= 0 {
			if count[n]++; count[n] > count[best] {
				best = n
			}
		}
	}
	return best
}

// names says what the names of a log are like.
type names struct {
	whole map[string]bool    // as they stand
	heads map[string][]*roll // by what stands before the number
	width map[string]int     // of the number, by head
}

func namesOf(rolls []*roll) *names {
	n := &names{map[string]bool{}, map[string][]*roll{}, map[string]int{}}
	for _, r := range rolls {
		counted := false
		for _, row := range r.rows {
			if row.Name != "" {
				n.whole[upper(row.Name)] = true
			}
			if row.number >= 0 {
				counted = true
				n.width[r.head] = max(n.width[r.head], len(row.digits()))
			}
		}
		if counted {
			n.heads[r.head] = append(n.heads[r.head], r)
		}
	}
	return n
}

// isClip reports whether a name is like those in the log.
func (n *names) isClip(name string) bool {
	if n.whole[upper(name)] {
		return true
	}
	head, _, width := n.cut(name)
	return width > 0 && width == n.width[head]
}

// cut finds the longest beginning of a name that is followed by a number in the log, that number,
// and how many digits it has; 0 where none is.
func (n *names) cut(name string) (head string, number, width int) {
	name = upper(name)
	before := ""
	for _, part := range runs(name) {
		if isDigit(part[0]) && n.heads[before] != nil {
			if whole, ok := wholeOf(part); ok {
				head, number, width = before, whole, len(part)
			}
		}
		before += part
	}
	return head, number, width
}
