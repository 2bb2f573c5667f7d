package desk

import (
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"net/http"
	"strings"
	"sync"
	"time"

	"evenwhite/api/door"
)

// How long a ticket waits to be used, and how long a seat is held.
const (
	TicketLife = time.Hour
	seatLife   = 12 * time.Hour
)

// most is how many tickets are open, and how many seats held, at once.
const most = 16

// scheme is the one by which a seat is shown in an Authorization header.
const scheme = "Desk"

// ErrTicket refuses what is no ticket, or one that was used or has run out.
var ErrTicket = errors.New("this ticket was used, or has run out")

// Seats says who sits at the machine. They are kept in memory, and only by their hashes.
type Seats struct {
	now func() time.Time

	mu      sync.Mutex
	tickets []claim
	held    []claim
}

type claim struct {
	hash  [sha256.Size]byte
	until time.Time
}

// NewSeats makes a row of free seats.
func NewSeats(now func() time.Time) *Seats { return &Seats{now: now} }

// Ticket draws a ticket for whoever is at the machine.
func (s *Seats) Ticket() string {
	ticket := rand.Text()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tickets = add(s.tickets, ticket, s.now(), TicketLife)
	return ticket
}

// Sit gives a seat for a ticket, which is void then, and says how long it is held.
func (s *Seats) Sit(ticket string) (seat string, until time.Time, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	at := find(s.tickets, ticket, s.now())
	if at < 0 {
		return "", time.Time{}, ErrTicket
	}
	s.tickets = append(s.tickets[:at], s.tickets[at+1:]...)
	seat = rand.Text()
	s.held = add(s.held, seat, s.now(), seatLife)
	return seat, s.held[len(s.held)-1].until, nil
}

// Sits reports whether a request comes from a seat at this machine.
func (s *Seats) Sits(r *http.Request) bool {
	seat, ok := strings.CutPrefix(r.Header.Get("Authorization"), scheme+" ")
	if !ok || !door.AtMachine(r) {
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return find(s.held, seat, s.now()) >= 0
}

// add puts a claim behind the others, and the oldest out where there are too many.
func add(claims []claim, secret string, now time.Time, life time.Duration) []claim {
	claims = append(claims, claim{sha256.Sum256([]byte(secret)), now.Add(life)})
	return claims[max(0, len(claims)-most):]
}

// find compares hashes, so that its time tells nothing of a secret.
func find(claims []claim, secret string, now time.Time) int {
	hash := sha256.Sum256([]byte(secret))
	for i, c := range claims {
		if c.hash == hash && now.Before(c.until) {
			return i
		}
	}
	return -1
}
