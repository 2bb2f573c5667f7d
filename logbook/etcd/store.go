package etcd

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"evenwhite/logbook"

	clientv3 "go.etcd.io/etcd/client/v3"
	"go.uber.org/zap"
	"google.golang.org/grpc"
	"google.golang.org/grpc/backoff"
)

// Store keeps logs in etcd. It implements logbook.SharedStore.
type Store struct {
	client   *clientv3.Client
	doors    doors
	keys     keys
	patience time.Duration

	ctx   context.Context // over once the store is closed
	end   context.CancelFunc
	begun sync.WaitGroup

	mu     sync.RWMutex
	logs   map[logbook.ID]*log
	closed bool
	pages  pages

	following following
	condition condition
	full      atomic.Bool // the last write found the quota reached
}

var _ logbook.SharedStore = (*Store)(nil)

// A log is what is held in memory of one: all but the edits' bytes.
type log struct {
	id      logbook.ID
	working sync.Mutex // held by the one that appends, or learns what others did
	queue   queue
	changed logbook.Signal
	asides  atomic.Uint64 // counts changes of what is kept aside

	// What follows is changed by the one that works, under the lock of the store.
	head   head
	rows   []row // by sequence, from 1
	chains []logbook.Chain
	at     map[logbook.Dot]logbook.Seq
	held   logbook.Held
	pages  []page
	crowd  logbook.Crowd
	aside  map[logbook.AsideKey]bool // clashes
}

// A page is where some edits lie.
type page struct {
	first logbook.Seq
	size  int // of the edits' bytes
}

// ErrLayout is wrapped where another program, or a newer version, wrote under the prefix.
var ErrLayout = errors.New("what stands in etcd has another layout")

// Access is how etcd is entered.
type Access struct {
	Members        []string    // host and port of each
	TLS            *tls.Config // nil: they are spoken to in the clear
	User, Password string      // "": none
}

// keepAlive is how often a member that says nothing is asked whether it is there: etcd takes offence at
// less than 5 s.
const keepAlive = 6 * time.Second

// callAgain is when a member is called again that was not there; gRPC would wait for two minutes at last.
var callAgain = backoff.Config{BaseDelay: 200 * time.Millisecond, Multiplier: 1.6, Jitter: 0.2, MaxDelay: 2 * time.Second}

func (a Access) config() clientv3.Config {
	scheme := "http://"
	if a.TLS != nil {
		scheme = "https://"
	}
	c := clientv3.Config{TLS: a.TLS, Logger: zap.NewNop(), DialKeepAliveTime: keepAlive, DialKeepAliveTimeout: keepAlive / 2,
		DialOptions: []grpc.DialOption{grpc.WithConnectParams(grpc.ConnectParams{Backoff: callAgain, MinConnectTimeout: 2 * time.Second})}}
	if a.User != "" {
		c.DialOptions = append(c.DialOptions, newPass(a.User, a.Password).options()...)
	}
	for _, m := range a.Members {
		c.Endpoints = append(c.Endpoints, scheme+m)
	}
	return c
}

// Open opens what a studio keeps in etcd under a prefix.
func Open(a Access, prefix string) (*Store, error) {
	if strings.Trim(prefix, "/") == "" {
		return nil, fmt.Errorf("%w: the prefix is empty", logbook.ErrRequest)
	}
	c := a.config()
	at := doorsOf(a, c.Endpoints)
	if err := at.closed(); err != nil {
		return nil, err
	}
	client, err := clientv3.New(c)
	if err != nil {
		return nil, err
	}
	s := &Store{client: client, doors: at, keys: keys(strings.TrimSuffix(prefix, "/") + "/"), patience: patience, logs: map[logbook.ID]*log{}}
	s.ctx, s.end = context.WithCancel(context.Background())
	s.following.subs, s.following.poke = map[string]*subscription{}, make(chan struct{}, 1)
	if err := s.prepare(); err != nil {
		return nil, errors.Join(at.explain(err), s.Close())
	}
	s.begin()
	return s, nil
}

// prepare looks at the layout, makes the indexes, and ends removals that a crash left.
func (s *Store) prepare() error {
	key := string(s.keys) + layoutKey
	err := s.patiently(func(ctx context.Context) error {
		r, err := s.client.Txn(ctx).If(clientv3.Compare(clientv3.CreateRevision(key), "=", 0)).
			Then(clientv3.OpPut(key, layout)).Else(clientv3.OpGet(key)).Commit()
		if err != nil || r.Succeeded {
			return err
		}
		if is := string(r.Responses[0].GetResponseRange().Kvs[0].Value); is != layout {
			return fmt.Errorf("%w: it has layout %q, this version knows %s", ErrLayout, is, layout)
		}
		return nil
	})
	if errors.Is(err, logbook.ErrFull) {
		err = nil // it can be read all the same
	}
	if err != nil {
		return err
	}
	if err := s.patiently(func(context.Context) error { _, err := s.readHeads(); return err }); err != nil {
		return err
	}
	return s.finishRemovals()
}

// begin starts what goes on until the store is closed.
func (s *Store) begin() {
	for _, f := range []func(){s.pollHeads, s.watch, s.look} {
		s.begun.Go(f)
	}
}

// Close implements logbook.Store.
func (s *Store) Close() error {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return logbook.ErrClosed
	}
	s.closed = true
	s.mu.Unlock()
	s.end()
	s.begun.Wait()
	err := s.client.Close()
	s.mu.RLock()
	defer s.mu.RUnlock()
	for _, l := range s.logs {
		l.changed.Wake()
	}
	if errors.Is(err, context.Canceled) {
		err = nil
	}
	return err
}

// enter notes a running call, unless the store is closed.
func (s *Store) enter() error {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return logbook.ErrClosed
	}
	s.begun.Add(1)
	return nil
}

// log finds a log that is there.
func (s *Store) log(production logbook.ID) (*log, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	l := s.logs[production]
	switch {
	case s.closed:
		return nil, logbook.ErrClosed
	case l == nil || l.head.rev == 0:
		return nil, logbook.ErrNoProduction
	}
	return l, nil
}

// known is the log of a production, whether it is there or not.
func (s *Store) known(production logbook.ID) *log {
	s.mu.Lock()
	defer s.mu.Unlock()
	l := s.logs[production]
	if l == nil {
		l = &log{id: production}
		l.forget()
		s.logs[production] = l
	}
	return l
}

func (l *log) asidesChanged() {
	l.asides.Add(1)
	l.changed.Wake()
}

// forget makes the index that of no log.
func (l *log) forget() {
	l.head, l.rows, l.chains, l.pages = head{}, nil, nil, nil
	l.at, l.held, l.crowd, l.aside = map[logbook.Dot]logbook.Seq{}, logbook.Held{}, logbook.Crowd{}, map[logbook.AsideKey]bool{}
}

// lookUp lends a log's index.
func (s *Store) lookUp(production logbook.ID, f func(*log)) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	f(l)
	return nil
}

// Productions implements logbook.Store.
func (s *Store) Productions() (ids []logbook.ID, err error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return nil, logbook.ErrClosed
	}
	for id, l := range s.logs {
		if l.head.rev != 0 {
			ids = append(ids, id)
		}
	}
	slices.SortFunc(ids, func(a, b logbook.ID) int { return slices.Compare(a[:], b[:]) })
	return ids, nil
}

// Begin implements logbook.Store.
func (s *Store) Begin(production logbook.ID, identity logbook.Line) error {
	if _, err := s.log(production); !errors.Is(err, logbook.ErrNoProduction) {
		return err
	}
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	l := s.known(production)
	l.working.Lock()
	defer l.working.Unlock()
	key, mark := s.keys.head(production), s.keys.kept(logbook.RemovedName(production))
	removed := false
	err := s.write(func(ctx context.Context) error {
		fresh := head{Head: logbook.Head{Identity: identity}}
		r, err := s.client.Txn(ctx).
			If(clientv3.Compare(clientv3.CreateRevision(key), "=", 0), clientv3.Compare(clientv3.CreateRevision(mark), "=", 0)).
			Then(clientv3.OpPut(key, fresh.encode())).Else(clientv3.OpGet(key)).Commit()
		removed = err == nil && !r.Succeeded && r.Responses[0].GetResponseRange().Count == 0
		return err
	})
	if err == nil && removed {
		err = logbook.ErrRemoved
	}
	if err != nil {
		return err
	}
	return s.refresh(l)
}
