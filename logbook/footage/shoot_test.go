package footage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"time"

	"evenwhite/logbook"
)

// A shoot draws a job of which the truth is known: what every body recorded, what of that the log
// has, and the listing of the files.
type shoot struct {
	*rand.Rand
	days      int
	clock     float64 // s, how far each body's clock is off
	jitter    float64 // s
	ends      bool    // files are written at the end of a recording, and are as large as it was long
	timeless  bool    // the listing says no times
	unlogged  float64 // share of recordings that nobody logs
	phantom   float64 // share of clips that were logged and not recorded
	typed     float64 // share of names that were typed with a slip
	readOff   float64 // share of names that were read off the camera, from where counting goes on
	unfolded  bool    // all cards of a day lie in one folder
	rows      []*Row
	of        map[logbook.ID]string // the path of each clip's file
	right     map[logbook.ID]bool   // whose name in the log is that of its file
	listing   strings.Builder
	files     int
	sidecars  bool
	n         uint64
	forgotten float64 // share of changes of cards that nobody logged
	logged    logged
}

// logged is the card as the log has it.
type logged struct {
	body       logbook.ID
	day, count int
	card, head string
}

// aShoot has three bodies: two that name cards, one whose names begin again on each card.
func aShoot(seed uint64, days int) *shoot {
	return &shoot{Rand: rand.New(rand.NewPCG(seed, 14)), days: days, clock: 15 * 60, jitter: 12, unlogged: 0.005,
		phantom: 0.0005, typed: 0.003, of: map[logbook.ID]string{}, right: map[logbook.ID]bool{}, sidecars: true}
}

func (s *shoot) id() (id logbook.ID) {
	s.n++
	for i := range 8 {
		id[15-i] = byte(s.n >> (8 * i))
	}
	id[6] = 0x70
	return id
}

func (s *shoot) draw() *shoot {
	for _, letter := range []string{"A", "B", "C"} {
		body := s.id()
		offset := (s.Float64()*2 - 1) * s.clock
		card := 0
		for day := range s.days {
			at := float64(time.Date(2031, 3, 1+day, 6, s.IntN(40), 0, 0, time.UTC).Unix())
			for left := 160; left > 0; {
				onCard := min(left, 40+s.IntN(50))
				card++
				at = s.card(letter, body, day, card, onCard, at, offset)
				left -= onCard
			}
		}
	}
	sortRows(s.rows)
	return s
}

// card draws what is recorded on one card, and returns when that ended.
func (s *shoot) card(letter string, body logbook.ID, day, card, clips int, at, offset float64) float64 {
	cardName := fmt.Sprintf("%s%03d", letter, card)
	head := cardName + "C"
	if letter == "C" {
		head, cardName = "C0", fmt.Sprintf("%d", card%4+1)
	}
	folder := fmt.Sprintf("/job/day%02d/%s_cam/%s", day+1, letter, cardName)
	if s.unfolded && letter != "C" {
		folder = fmt.Sprintf("/job/day%02d", day+1)
	}
	if s.logged.body != body || s.logged.day != day || letter == "C" || s.Float64() >= s.forgotten {
		s.logged = logged{body: body, day: day, card: cardName, head: head}
	}
	log := &s.logged
	for n := 1; n <= clips; n++ {
		long := 15 + s.ExpFloat64()*60
		file := fmt.Sprintf("%s%03d", head, n)
		full := file
		if letter == "A" {
			full += fmt.Sprintf("_3103%02d_%c%c%d%d", day+1, 'A'+rune(s.IntN(26)), 'A'+rune(s.IntN(26)), s.IntN(10), s.IntN(10))
		}
		written := at + offset + s.NormFloat64()*s.jitter
		if s.ends {
			written += long
		}
		path := folder + "/" + full + ".mov"
		s.file(path, int64(long*25e6), written)
		if s.sidecars && n%3 == 0 {
			s.file(folder+"/"+full+".xml", 2000, written)
		}
		if s.Float64() >= s.unlogged {
			log.count++
			read := s.readOff > 0 && s.Float64() < s.readOff
			if read {
				log.count = n
			}
			row := s.log(letter, body, day, log.card, fmt.Sprintf("%s%03d", log.head, log.count), at, path, file)
			row.ReadOff = read
		}
		if s.Float64() < s.phantom {
			log.count++
			s.log(letter, body, day, log.card, fmt.Sprintf("%s%03d", log.head, log.count), at+40+long, "", "")
		}
		at += long + 20 + s.ExpFloat64()*120
	}
	return at + 600
}

func (s *shoot) log(letter string, body logbook.ID, day int, card, name string, at float64, path, file string) *Row {
	if s.Float64() < s.typed {
		name = s.slip(name)
	}
	row := &Row{Clip: s.id(), Name: name, Camera: letter, Body: body, Card: card, Day: fmt.Sprint(day + 1),
		Date: fmt.Sprintf("2031-03-%02d", day+1), SetUp: fmt.Sprint(int(at) / 3000), At: logbook.Millis(math.Round(at * 1000)),
		Mode: "kelvin", Said: Settings{Kelvin: "4300"}, number: -1}
	s.rows = append(s.rows, row)
	s.of[row.Clip] = path
	s.right[row.Clip] = name == file && path != ""
	return row
}

// slip types a name wrongly.
func (s *shoot) slip(name string) string {
	b := []byte(name)
	at := s.IntN(len(b))
	switch s.IntN(4) {
	case 0:
		b[at] = "0123456789ABCIO"[s.IntN(15)]
	case 1:
		return string(append(b[:at:at], b[at+1:]...))
	case 2:
		if at+1 < len(b) {
			b[at], b[at+1] = b[at+1], b[at]
		}
	default:
		return strings.NewReplacer("0", "O", "1", "I", "8", "B").Replace(name)
	}
	return string(b)
}

func (s *shoot) file(path string, size int64, at float64) {
	s.files++
	if s.timeless {
		fmt.Fprintf(&s.listing, "%s\n", path)
		return
	}
	fmt.Fprintf(&s.listing, "%d %.10f %s\n", size, at, path)
}

func (s *shoot) join() (Joined, error) {
	c := NewCollection()
	if err := c.Read(strings.NewReader(s.listing.String()), Form{}); err != nil {
		return Joined{}, err
	}
	return Join(s.rows, c), nil
}

// truth counts what came of a shoot.
type truth struct {
	sure, wrong   int // clips called sure, and those of them that got another's file
	right, proven int // clips whose logged name is right, and those of them called sure
	names, mended int // clips with a wrong name, and those of them that got their own file
}

func (s *shoot) judge(j Joined) (t truth) {
	path := map[logbook.ID]string{}
	paths := map[string]bool{}
	for _, p := range s.of {
		paths[p] = true
	}
	for _, c := range j.Clips {
		if c.File != "" {
			path[c.Clip] = c.Folder + "/" + c.File + ".mov"
		}
		if c.Result == Sure {
			t.sure++
			if path[c.Clip] != s.of[c.Clip] {
				t.wrong++
			}
			if s.right[c.Clip] {
				t.proven++
			}
		}
	}
	for _, row := range s.rows {
		if s.right[row.Clip] {
			t.right++
			continue
		}
		if s.of[row.Clip] == "" {
			continue
		}
		t.names++
		if path[row.Clip] == s.of[row.Clip] {
			t.mended++
		}
	}
	return t
}

func (t truth) wrongShare() float64 { return float64(t.wrong) / float64(max(1, t.sure)) }

func (t truth) sureShare() float64 { return float64(t.proven) / float64(max(1, t.right)) }
