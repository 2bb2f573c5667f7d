package etcd

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/storetest"

	"go.etcd.io/etcd/api/v3/v3rpc/rpctypes"
	clientv3 "go.etcd.io/etcd/client/v3"
)

var studioKills = flag.Int("studio.kills", 3, "how often the leader of etcd is killed")

// studio is three processes at one cluster, as far as they hold logs, and the devices that push to them.
type studio struct {
	t      testing.TB
	c      *cluster
	stores []*Store
	logs   []*logbook.Log

	mu    sync.Mutex
	more  sync.Cond
	acked map[logbook.Dot][]byte
	last  time.Time     // of an answer
	gap   time.Duration // the longest without one
	ended bool
}

func openStudio(t testing.TB, c *cluster) *studio {
	s := &studio{t: t, c: c, acked: map[logbook.Dot][]byte{}, last: time.Now()}
	s.more.L = &s.mu
	for i := range 3 {
		store := c.open(t, "studio")
		s.stores = append(s.stores, store)
		s.logs = append(s.logs, s.open(store, byte(i)))
	}
	return s
}

func (s *studio) open(store logbook.Store, start byte) *logbook.Log {
	s.t.Helper()
	l, err := logbook.OpenLog(store, storetest.Production, kinds.Rules, logtest.Lines(0xa0+16*start))
	if err != nil {
		s.t.Fatal(err)
	}
	return l
}

// work is one device: it pushes to whichever process it meets until each edit is answered.
func (s *studio) work(device int, chance *rand.Rand) {
	for n := uint64(1); !s.over(); {
		var edits []*logbook.Edit
		for range 1 + chance.IntN(3) {
			e := &logbook.Edit{Production: storetest.Production, Kind: kinds.Clip, Device: logbook.ID{3, byte(device), 14: 7},
				Record: logbook.ID{2, byte(chance.IntN(40)), 6: 0x70, 8: 0x80}, By: "2nd AC", At: 1.9e12 + logbook.Millis(n),
				Dot: logbook.Dot{Line: logbook.Line{1, byte(device)}, N: n},
				Set: []logbook.Change{{Field: "lens", Value: logbook.TextValue(fmt.Sprint("lens ", n))}}}
			n++
			edits = append(edits, e)
		}
		for !s.push(edits, device, s.logs[chance.IntN(len(s.logs))]) && !s.over() {
		}
	}
}

func (s *studio) push(edits []*logbook.Edit, device int, l *logbook.Log) bool {
	answers, err := l.Push(edits, logbook.ID{3, byte(device), 14: 7}, 1.9e12)
	if err != nil {
		if !errors.Is(err, logbook.ErrAway) {
			s.t.Errorf("a push: %v", err)
			s.end()
		}
		<-time.After(5 * time.Millisecond) // where etcd is away that is said at once
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if now := time.Now(); now.Sub(s.last) > s.gap {
		s.gap = now.Sub(s.last)
	}
	s.last = time.Now()
	for i, a := range answers {
		if a.Outcome != logbook.AnswerTaken && a.Outcome != logbook.AnswerRepeat {
			s.t.Errorf("edit %s is answered %s: %s", a.Dot, a.Outcome, a.Reason)
		}
		b, err := logbook.EncodeEdit(edits[i])
		if err != nil {
			s.t.Error(err)
		}
		s.acked[a.Dot] = b
	}
	s.more.Broadcast()
	return true
}

// begin has 20 devices work until they rest.
func (s *studio) begin(seed uint64) (rest func()) {
	var running sync.WaitGroup
	for device := range 20 {
		running.Go(func() { s.work(device, rand.New(rand.NewPCG(seed, uint64(device)))) })
	}
	return func() {
		s.end()
		running.Wait()
	}
}

// loseLeader kills the leader, and starts it again once so many edits were acknowledged without it.
func (s *studio) loseLeader(edits int) {
	m := s.c.leader()
	m.kill()
	s.goesOn(edits)
	s.c.start(m)
	s.c.healthy(m)
}

func (s *studio) over() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.ended
}

func (s *studio) end() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ended = true
	s.more.Broadcast()
}

// goesOn waits until so many more edits are acknowledged.
func (s *studio) goesOn(n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for target := len(s.acked) + n; len(s.acked) < target && !s.ended; {
		s.more.Wait()
	}
}

// longest returns the longest time without an answer since it was asked last.
func (s *studio) longest() time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	gap := s.gap
	s.gap, s.last = 0, time.Now()
	return gap.Round(time.Millisecond)
}

// agree demands that every process holds every acknowledged edit, and that all books are one, that of a
// process that starts now included. It returns the digest.
func (s *studio) agree(t *testing.T) string {
	s.t.Helper()
	fresh := s.c.open(s.t, "studio")
	want, err := fresh.Head(storetest.Production)
	if err != nil {
		s.t.Fatal(err)
	}
	digests := map[string]int{}
	for i, store := range append(s.stores[:len(s.stores):len(s.stores)], fresh) {
		var l *logbook.Log
		if i < len(s.logs) {
			l = s.logs[i]
		} else {
			l = s.open(store, byte(i))
		}
		within(s.t, "equal logs", func() bool { at, err := l.Readable(); return err == nil && at == want })
		var all string
		l.Read(func(b *logbook.Book) { all = logtest.Records(b, []logbook.Kind{kinds.Clip}) + logtest.Refused(b) })
		digests[fmt.Sprintf("%x", sha256.Sum256([]byte(all)))[:16]]++
		storetest.MustAgree(t, store)
		for dot, b := range s.acked {
			held, err := store.Get(storetest.Production, []logbook.Dot{dot})
			if err != nil || len(held) != 1 || !bytes.Equal(held[0].Bytes, b) {
				s.t.Fatalf("process %d: edit %s was acknowledged and is lost (%v)", i, dot, err)
			}
		}
	}
	if len(digests) != 1 {
		s.t.Errorf("the books differ: %v", digests)
	}
	for d := range digests {
		return d
	}
	return ""
}

// TestNothingAcknowledgedIsLostInAStudio lets 20 devices push to three processes while etcd meets each
// fault in turn.
func TestNothingAcknowledgedIsLostInAStudio(t *testing.T) {
	seed := rand.Uint64() >> 1
	t.Logf("seed %d", seed)
	c := startCluster(t)
	s := openStudio(t, c)
	rest := s.begin(seed)
	t.Cleanup(rest)
	const some = 50
	s.goesOn(some)
	fault := func(what string, does func()) {
		s.longest()
		does()
		s.goesOn(some)
		t.Logf("%s: the longest time without an answer was %s", what, s.longest())
	}
	for i := range *studioKills {
		fault(fmt.Sprint("leader killed, ", i+1), func() { s.loseLeader(some) })
	}
	fault("leader paused past the election", func() {
		m := c.leader()
		if err := m.process.Process.Signal(syscall.SIGSTOP); err != nil {
			t.Fatal(err)
		}
		s.goesOn(some)
		if err := m.process.Process.Signal(syscall.SIGCONT); err != nil {
			t.Fatal(err)
		}
		c.healthy(m)
	})
	fault("leader cut off from its peers", func() {
		m := c.leader()
		c.peers.part(m.name)
		s.goesOn(some)
		c.peers.part("")
		c.healthy(m)
	})
	fault("history compacted and members defragmented", func() {
		c.makeRoom(c.client())
	})
	fault("a member replaced by an empty one", func() { c.replace(c.members[0]) })
	fault("all three killed and started", func() {
		for _, m := range c.members {
			m.kill()
		}
		within(t, "a state that says so", func() bool { return !s.stores[0].AsOf().IsZero() })
		if said := strings.Join(s.stores[0].Warnings(), "\n"); !strings.Contains(said, "what is read is as of") {
			t.Errorf("it warns of %q", said)
		}
		if page, err := s.logs[0].Page(0, 1); err != nil || len(page) == 0 {
			t.Logf("what is not in memory cannot be read then: %v", err)
		}
		read := false
		s.logs[0].Read(func(b *logbook.Book) { read = len(b.Records(kinds.Clip)) > 0 })
		if _, err := s.stores[0].Productions(); err != nil || !read {
			t.Errorf("reading does not go on: %v", err)
		}
		nothing := func(*logbook.Book) ([]logbook.Draft, error) { return nil, nil }
		if _, err := s.logs[1].Change(logbook.Writer{}, nothing); !errors.Is(err, logbook.ErrAway) {
			t.Errorf("a change: got %v, want %v", err, logbook.ErrAway)
		}
		for _, m := range c.members {
			c.start(m)
		}
		c.await()
		within(t, "a state that says that it is over", func() bool { return s.stores[0].AsOf().IsZero() })
	})
	rest()
	if !t.Failed() {
		t.Logf("%d edits were acknowledged, none is lost; all books are %s", len(s.acked), s.agree(t))
	}
}

// TestChangesOfSeveralProcessesFollowEachOther has three processes count in one field: a change that
// did not see the one before would count as much as that.
func TestChangesOfSeveralProcessesFollowEachOther(t *testing.T) {
	s := openStudio(t, someCluster(t))
	record := logbook.ID{2, 6: 0x70, 8: 0x80, 15: 1}
	const each = 10
	var all sync.WaitGroup
	for i := range 6 {
		all.Go(func() {
			for range each {
				w := logbook.Writer{Device: logbook.ID{4, 14: 7}, By: "DIT", Now: 1.9e12}
				_, err := s.logs[i%3].Change(w, func(b *logbook.Book) ([]logbook.Draft, error) {
					d := logbook.Draft{Kind: kinds.Clip, Record: record}
					if v, ok := b.RecordOf(kinds.Clip, record); ok {
						text, _ := v.Value("lens").Text()
						d.Set = []logbook.Change{logbook.Replace(v, "lens", logbook.TextValue(text+"x"))}
					} else {
						d.Set = []logbook.Change{{Field: "lens", Value: logbook.TextValue("x")}}
					}
					return []logbook.Draft{d}, nil
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	s.agree(t)
	s.logs[0].Read(func(b *logbook.Book) {
		v, _ := b.RecordOf(kinds.Clip, record)
		text, _ := v.Value("lens").Text()
		if f := v.Field("lens"); len(text) != 6*each || f.Conflict {
			t.Errorf("counted were %d of %d changes; a conflict: %v", len(text), 6*each, f.Conflict)
		}
	})
}

// healthy waits until a member answers and knows a leader.
func (c *cluster) healthy(m *member) {
	c.t.Helper()
	client := c.client()
	within(c.t, m.name+" in its place", func() bool {
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		r, err := client.Status(ctx, m.client)
		return err == nil && r.Leader != 0 && len(r.Errors) == 0
	})
}

// replace takes a member out for good and puts an empty one in its place, as after a machine is lost.
func (c *cluster) replace(m *member) {
	c.t.Helper()
	client := c.client()
	id := c.id(client, m.name)
	m.kill()
	soon := func(do func(context.Context) error) func() bool {
		return func() bool {
			ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
			defer cancel()
			err := do(ctx)
			if err != nil {
				c.t.Log(err)
			}
			return err == nil
		}
	}
	within(c.t, "the old member to be out", soon(func(ctx context.Context) error {
		_, err := client.MemberRemove(ctx, id)
		if errors.Is(err, rpctypes.ErrMemberNotFound) { // by a try whose answer was lost
			err = nil
		}
		return err
	}))
	within(c.t, "a place for the new member", soon(func(ctx context.Context) error {
		_, err := client.MemberAdd(ctx, []string{"http://" + m.called})
		if errors.Is(err, rpctypes.ErrPeerURLExist) {
			err = nil
		}
		return err
	}))
	m.folder = filepath.Join(c.folder, m.name+" anew")
	c.state = "existing"
	c.start(m)
	c.healthy(m)
	c.learnIDs()
}

func (c *cluster) id(client *clientv3.Client, name string) uint64 {
	c.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	r, err := client.MemberList(ctx)
	if err != nil {
		c.t.Fatal(err)
	}
	for _, m := range r.Members {
		if m.Name == name {
			return m.ID
		}
	}
	c.t.Fatalf("there is no member %s", name)
	return 0
}

// learnIDs tells the proxies who is who.
func (c *cluster) learnIDs() {
	client := c.client()
	for _, m := range c.members {
		id := fmt.Sprintf("%x", c.id(client, m.name))
		c.peers.mu.Lock()
		c.peers.ids[id] = m.name
		c.peers.mu.Unlock()
	}
}

// TestNobodyAsksAnEtcdThatIsAway: one behind the other each would wait as long as those before it together.
func TestNobodyAsksAnEtcdThatIsAway(t *testing.T) {
	c := someCluster(t)
	if err := c.open(t, "away").Begin(storetest.Production, logbook.Line{1}); err != nil {
		t.Fatal(err)
	}
	s := &Store{client: c.client(), keys: "away/", patience: patience, logs: map[logbook.ID]*log{}} // which does not look by itself
	s.ctx, s.end = context.WithCancel(t.Context())
	defer s.end()
	if err := s.prepare(); err != nil {
		t.Fatal(err)
	}
	ask := func() (newest, pushed error) {
		_, newest = s.Newest(storetest.Production)
		_, pushed = s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, 1, "x")})
		return newest, pushed
	}
	s.away(time.Now().Add(-time.Hour), fmt.Errorf("%w (for an hour)", logbook.ErrAway))
	if newest, pushed := ask(); !errors.Is(newest, logbook.ErrAway) || !errors.Is(pushed, logbook.ErrAway) {
		t.Errorf("it was asked: %v, %v", newest, pushed)
	}
	s.asksWentWell()
	if newest, pushed := ask(); newest != nil || pushed != nil {
		t.Errorf("once it is there: %v, %v", newest, pushed)
	}
}
