package colorlog

import (
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Note is what somebody wrote about the clip, its take or its set-up, with what was answered.
type Note struct {
	By      string     `json:"by"`
	At      time.Time  `json:"at"` // UTC
	To      string     `json:"to,omitempty"`
	Text    string     `json:"text"`
	Open    bool       `json:"open"` // it was asked of the set or of post, and nobody answered or settled it
	Answers []Answer   `json:"answers,omitempty"`
	Record  logbook.ID `json:"record"`
}

// Answer is a note that answers another, or one of its answers.
type Answer struct {
	By   string    `json:"by"`
	At   time.Time `json:"at"` // UTC
	Text string    `json:"text"`
}

// addNotes adds what was written about a record, but answers: they stand with what they answer.
func (s *setUp) addNotes(o *Off, about logbook.View) {
	for _, note := range s.book.Referring(kinds.Note, "about", about.ID) {
		if s.stands(note) {
			o.Notes = append(o.Notes, s.note(note))
		}
	}
}

// stands reports whether a note stands in a row by itself. One to a single person is nobody else's.
func (s *setUp) stands(note logbook.View) bool {
	if to, _ := note.Value("to").Member("as").Text(); to == "person" {
		return false
	}
	asked, ok := s.book.RecordOf(kinds.Note, note.Ref("answers"))
	return !ok || asked.Deleted()
}

func (s *setUp) note(v logbook.View) Note {
	n := Note{By: v.CreatedBy(), At: v.CreatedAt().Time(), Text: v.Text("text"), Record: v.ID}
	n.To, _ = v.Value("to").Member("as").Text()
	n.Answers = s.answers(v, map[logbook.ID]bool{v.ID: true})
	slices.SortStableFunc(n.Answers, func(a, b Answer) int { return a.At.Compare(b.At) })
	n.Open = n.To != "" && len(n.Answers) == 0 && v.Text("state") != "done"
	return n
}

// answers are those of a note and theirs in turn; those that are known already would go round in a circle.
func (s *setUp) answers(of logbook.View, known map[logbook.ID]bool) (all []Answer) {
	for _, v := range s.book.Referring(kinds.Note, "answers", of.ID) {
		if known[v.ID] {
			continue
		}
		known[v.ID] = true
		if to, _ := v.Value("to").Member("as").Text(); to != "person" {
			all = append(all, Answer{v.CreatedBy(), v.CreatedAt().Time(), v.Text("text")})
		}
		all = append(all, s.answers(v, known)...)
	}
	return all
}

// cameraNotes are what was written about the camera between its clip before and
// this one: it speaks of the footage from here.
func (s *setUp) cameraNotes(sh *shot) (notes []Note) {
	if sh.camera.ID.IsZero() {
		return nil
	}
	before := logbook.Millis(0)
	for _, clip := range s.clips {
		if o := s.shots[clip.ID]; o.camera.ID == sh.camera.ID && o.start < sh.start {
			before = max(before, o.start)
		}
	}
	if before == 0 {
		return nil
	}
	for _, note := range s.book.Referring(kinds.Note, "about", sh.camera.ID) {
		if at := note.CreatedAt(); at > before && at <= sh.start && s.stands(note) {
			notes = append(notes, s.note(note))
		}
	}
	return notes
}

// Words say a note with its answers: "assistant editor to set (open): is the card in frame?".
func (n Note) Words() string {
	who := n.By
	if n.To != "" {
		who += " to " + n.To
	}
	if n.Open {
		who += " (open)"
	}
	said := []string{who + ": " + n.Text}
	for _, a := range n.Answers {
		said = append(said, "answered by "+a.By+": "+a.Text)
	}
	return strings.Join(said, "; ")
}

// Open counts the notes that wait for an answer.
func (o Off) Open() (n int) {
	for _, note := range o.Notes {
		if note.Open {
			n++
		}
	}
	return n
}
