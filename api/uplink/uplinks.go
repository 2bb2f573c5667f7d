package uplink

import (
	"cmp"
	"context"
	"crypto/ecdsa"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"sync"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
)

// Keeper is the part of a logbook.Store that keeps the server's own values.
type Keeper interface {
	Productions() ([]logbook.ID, error)
	Keep(name string, value []byte) error
	Kept(name string) ([]byte, error)
	KeptUnder(prefix string) ([]logbook.KeptValue, error)
}

// keptLinks is how the names of links begin in the store: uplink/DEVICE, and behind it, for each
// production, what is known of it there.
const keptLinks = "uplink/"

// Logs are the open logs of this server.
type Logs interface {
	Find(production logbook.ID) (*exchange.Peer, error)
	Open(production logbook.ID) (*exchange.Peer, error)
}

// Config is what links need.
type Config struct {
	Store  Keeper
	Logs   Logs
	Server string                            // the identity of this server
	Key    func() (*ecdsa.PrivateKey, error) // of all links, drawn at the first; no backup holds it
	// Find says at which addresses, each of a host and a port, a server may be; each is tried until one shows the
	// certificate. With an error there may be some all the same. nil: at its own.
	Find  func(ctx context.Context, address string) ([]string, error)
	Pause time.Duration // after which the others are asked where nothing wakes
	Now   func() time.Time
	Log   *slog.Logger
}

// Uplinks are all links of this server. All methods may be called at once.
type Uplinks struct {
	Config
	ctx   context.Context
	end   context.CancelFunc
	going sync.WaitGroup

	mu    sync.Mutex
	links map[logbook.ID]*linked
}

// Errors of links.
var (
	ErrNoLink = errors.New("there is no such link")
	ErrTwice  = errors.New("this server is linked with that one already")
)

// linked is a link at work.
type linked struct {
	Link
	end    context.CancelFunc
	caller *caller
	again  chan struct{} // the other server may be there again

	mu      sync.Mutex
	follows map[logbook.ID]*following
	trouble string                // why the productions there could not be listed
	whyNot  map[logbook.ID]string // productions that cannot be followed
	apart   map[logbook.ID]string // productions that the code does not let in
}

// State is how a link stands.
type State struct {
	Link
	Trouble     string            `json:"trouble,omitempty"`
	Productions []ProductionState `json:"productions"`
}

// Ails says what keeps a link, or one production of it; "" where nothing does.
func (s State) Ails() string {
	if s.Trouble != "" {
		return s.Trouble
	}
	for _, p := range s.Productions {
		if p.Trouble != "" {
			return p.Trouble
		}
	}
	return ""
}

// Open starts the links that are kept, until Close.
func Open(c Config) (*Uplinks, error) {
	u := &Uplinks{Config: c, links: map[logbook.ID]*linked{}}
	u.ctx, u.end = context.WithCancel(context.Background())
	kept, err := c.Store.KeptUnder(keptLinks)
	if err != nil {
		return nil, err
	}
	for _, v := range kept {
		if len(v.Name) != len(keptLinks)+len(logbook.ID{}.String()) { // of a production
			continue
		}
		var l Link
		if err := json.Unmarshal(v.Value, &l); err != nil {
			return nil, fmt.Errorf("%s: %w", v.Name, err)
		}
		if err := u.start(l); err != nil {
			return nil, err
		}
	}
	return u, nil
}

// Close ends all links and waits for what they are at.
func (u *Uplinks) Close() {
	u.end()
	u.going.Wait()
}

// Join links this server with another by a code from there.
func (u *Uplinks) Join(ctx context.Context, w Wish) (Link, error) {
	key, err := u.Key()
	if err != nil {
		return Link{}, err
	}
	l, err := u.join(ctx, w, key)
	if err != nil {
		return l, err
	}
	for _, other := range u.States() {
		if other.Server == l.Server && other.Device != l.Device {
			return l, fmt.Errorf("%w (%s): evenwhite unlink %s first", ErrTwice, other.Address, other.Address)
		}
	}
	b, err := json.Marshal(l)
	if err != nil {
		return l, err
	}
	if err := u.Store.Keep(keptLinks+l.Device.String(), b); err != nil {
		return l, err
	}
	u.stop(l.Device) // one that is joined again, with more roles
	return l, u.start(l)
}

// Leave ends a link; every edit stays. Where the other can be reached it is told.
func (u *Uplinks) Leave(ctx context.Context, address string) (Link, error) {
	for _, s := range u.States() {
		if s.Address != address && s.Device.String() != address {
			continue
		}
		waiting := 0
		for _, p := range s.Productions {
			waiting += p.Waiting
		}
		if l := u.stop(s.Device); l != nil {
			u.farewell(ctx, l, waiting)
		}
		kept, err := u.Store.KeptUnder(keptLinks + s.Device.String())
		if err != nil {
			return s.Link, err
		}
		for _, v := range kept {
			if err := u.Store.Keep(v.Name, nil); err != nil {
				return s.Link, err
			}
		}
		return s.Link, nil
	}
	return Link{}, fmt.Errorf("%w with %s: evenwhite links lists them", ErrNoLink, address)
}

// farewell has the other server end the admission of this one, if it can be reached now.
func (u *Uplinks) farewell(ctx context.Context, l *linked, waiting int) {
	ctx, cancel := context.WithTimeout(ctx, dialTime)
	defer cancel()
	response, err := l.caller.send(ctx, call{method: http.MethodDelete, path: "/v1/me",
		query: fmt.Sprintf("unsent=%d&lose=true", waiting)})
	if err != nil {
		u.Log.Warn("the other server could not be told that the link is over: its owner sees this one among the devices, and can revoke it",
			"address", l.Address, "error", err)
		return
	}
	_ = response.Body.Close()
}

// start lets a link work.
func (u *Uplinks) start(l Link) error {
	key, err := u.Key()
	if err != nil {
		return err
	}
	address, err := (&Wish{Address: l.Address, Plain: true}).address()
	if err != nil {
		return err
	}
	ctx, end := context.WithCancel(u.ctx)
	at := &linked{Link: l, end: end, caller: newCaller(address, l.Fingerprint, key, u.Find), again: make(chan struct{}, 1),
		follows: map[logbook.ID]*following{},
		whyNot:  map[logbook.ID]string{}, apart: map[logbook.ID]string{}}
	u.mu.Lock()
	u.links[l.Device] = at
	u.mu.Unlock()
	u.going.Go(func() { u.tend(ctx, at) })
	return nil
}

// stop ends the work of a link, or returns nil.
func (u *Uplinks) stop(device logbook.ID) *linked {
	u.mu.Lock()
	defer u.mu.Unlock()
	l, ok := u.links[device]
	if !ok {
		return nil
	}
	l.end()
	delete(u.links, device)
	return l
}

// tend looks now and then which productions there are on either side, and follows each.
func (u *Uplinks) tend(ctx context.Context, l *linked) {
	pauses := backOff{usual: u.Pause}
	for {
		err := u.look(ctx, l)
		if ctx.Err() != nil {
			return
		}
		l.mu.Lock()
		was, again := l.trouble, l.again
		if l.trouble = ""; err != nil {
			l.trouble = troubleOf(err)
		} else {
			again = nil
		}
		l.mu.Unlock()
		if was != "" && err == nil {
			l.retry()
		}
		timer := time.NewTimer(pauses.after(err))
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		case <-again:
		}
		timer.Stop()
	}
}

// retry has every production that could not be exchanged tried now.
func (l *linked) retry() {
	l.mu.Lock()
	defer l.mu.Unlock()
	rouse(l.again)
	for _, f := range l.follows {
		f.mu.Lock()
		if f.state.Trouble != "" {
			rouse(f.again)
		}
		f.mu.Unlock()
	}
}

// Retry tries all links that fail now: the network is another.
func (u *Uplinks) Retry() {
	u.mu.Lock()
	defer u.mu.Unlock()
	for _, l := range u.links {
		l.retry()
	}
}

// look follows the productions that both servers have and the code lets in, begins here those
// that are there alone, and brings there those that are here alone where the role may.
func (u *Uplinks) look(ctx context.Context, l *linked) error {
	var me struct {
		Roles map[string]string `json:"roles"` // by production, "*" and "new"
	}
	if err := l.caller.read(ctx, call{method: http.MethodGet, path: "/v1/me"}, &me); err != nil {
		return err
	}
	var there struct {
		Productions []struct {
			ID   string `json:"id"`
			Role string `json:"role"`
		} `json:"productions"`
	}
	if err := l.caller.read(ctx, call{method: http.MethodGet, path: "/v1/productions"}, &there); err != nil {
		return err
	}
	both := map[logbook.ID]bool{}
	for _, p := range there.Productions {
		id, err := logbook.ParseID(p.ID)
		if both[id] = true; err == nil && l.takes(id) && p.Role != "guest" {
			if err := u.follow(ctx, l, id, fetches(p.Role), true); err != nil {
				return err
			}
		}
	}
	if l.Fetches() {
		return nil
	}
	here, err := u.Store.Productions()
	if err != nil {
		return err
	}
	brings := me.Roles["*"] == "owner" || me.Roles["new"] != ""
	for _, id := range here {
		switch {
		case both[id] || !l.takes(id):
		case brings || me.Roles[id.String()] != "":
			if err := u.follow(ctx, l, id, false, false); err != nil {
				return err
			}
		default:
			l.setApart(id, "not brought there: the code lets in no new productions (evenwhite pair --new makes one that does), or not to this one")
		}
	}
	return nil
}

func (l *linked) setApart(id logbook.ID, why string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.follows[id] == nil {
		l.apart[id] = why
	}
}

// mostStreams is how many event streams a link keeps open: a server ends the oldest of more than
// four. The newest productions have them.
const mostStreams = 3

// follow begins to exchange a production, unless that goes on already or it was removed here. New here, it begins.
func (u *Uplinks) follow(ctx context.Context, l *linked, id logbook.ID, fetches, begin bool) error {
	l.mu.Lock()
	_, follows := l.follows[id]
	l.mu.Unlock()
	if follows {
		return nil
	}
	peer, err := u.Logs.Find(id)
	begun := false
	if errors.Is(err, logbook.ErrNoProduction) && begin {
		begun = true
		peer, err = u.Logs.Open(id)
	}
	if err != nil { // such as a production that was removed here, or is damaged
		l.mu.Lock()
		defer l.mu.Unlock()
		l.whyNot[id] = err.Error()
		return nil
	}
	f := &following{link: &l.Link, caller: l.caller, peer: peer, relay: exchange.NewRelay(peer, fetches), store: u.Store, log: u.Log,
		now: u.Now, pause: u.Pause, wake: make(chan struct{}, 1), again: make(chan struct{}, 1), back: l.retry, filling: begun,
		state: ProductionState{Production: id}}
	if begun {
		err = f.keep()
	} else {
		err = f.recall()
	}
	if err != nil {
		return err
	}
	ctx, end := context.WithCancel(ctx)
	f.over = func(err error) {
		end()
		l.mu.Lock()
		defer l.mu.Unlock()
		delete(l.follows, id)
		l.whyNot[id] = err.Error()
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.follows[id] = f
	delete(l.whyNot, id)
	delete(l.apart, id)
	u.going.Go(func() { f.run(ctx) })
	if len(l.follows) <= mostStreams {
		u.going.Go(func() { f.listen(ctx) })
	}
	return nil
}

// States say how all links stand, the oldest first.
func (u *Uplinks) States() (all []State) {
	u.mu.Lock()
	links := make([]*linked, 0, len(u.links))
	for _, l := range u.links {
		links = append(links, l)
	}
	u.mu.Unlock()
	for _, l := range links {
		all = append(all, l.stands())
	}
	slices.SortFunc(all, func(a, b State) int { return cmp.Or(a.Since.Compare(b.Since), cmp.Compare(a.Address, b.Address)) })
	return all
}

func (l *linked) stands() State {
	l.mu.Lock()
	defer l.mu.Unlock()
	s := State{Link: l.Link, Trouble: l.trouble, Productions: []ProductionState{}}
	for _, f := range l.follows {
		s.Productions = append(s.Productions, f.stands())
	}
	for id, why := range l.whyNot {
		s.Productions = append(s.Productions, ProductionState{Production: id, Trouble: why})
	}
	for id, why := range l.apart {
		s.Productions = append(s.Productions, ProductionState{Production: id, Apart: why})
	}
	slices.SortFunc(s.Productions, func(a, b ProductionState) int { return slices.Compare(a.Production[:], b.Production[:]) })
	return s
}
