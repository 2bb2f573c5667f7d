package etcd

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"evenwhite/logbook/needed"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// A cluster is three members of etcd on this machine, each a process of its own.
type cluster struct {
	t       testing.TB
	program string
	folder  string
	state   string   // of the cluster that members are started for
	more    []string // options
	members []*member
	peers   *peers
}

type member struct {
	name, folder, client, peer string
	called                     string // by its peers
	process                    *exec.Cmd
	said                       *bytes.Buffer
}

// freePorts are ports that nobody listens at.
func freePorts(t testing.TB, n int) (addresses []string) {
	t.Helper()
	for range n {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		addresses = append(addresses, l.Addr().String())
	}
	return addresses
}

// common is one cluster for all tests that leave it as it was: each has a prefix of its own.
var common struct {
	sync.Mutex
	*cluster
	folder string
}

func TestMain(m *testing.M) {
	code := m.Run()
	if common.cluster != nil {
		for _, m := range common.members {
			m.kill()
		}
	}
	if common.folder != "" {
		_ = os.RemoveAll(common.folder)
	}
	os.Exit(code)
}

// someCluster is that cluster, for a test.
func someCluster(t testing.TB) *cluster {
	t.Helper()
	common.Lock()
	defer common.Unlock()
	if common.cluster == nil {
		folder, err := os.MkdirTemp("", "studio-")
		if err != nil {
			t.Fatal(err)
		}
		common.folder = folder
		common.cluster = newCluster(t, folder)
	}
	c := *common.cluster
	c.t = t
	return &c
}

// startCluster starts three members that end with the test.
func startCluster(t testing.TB, more ...string) *cluster {
	t.Helper()
	c := newCluster(t, t.TempDir(), more...)
	t.Cleanup(func() {
		for _, m := range c.members {
			m.kill()
		}
	})
	return c
}

func newCluster(t testing.TB, folder string, more ...string) *cluster {
	t.Helper()
	program := os.Getenv("EVENWHITE_ETCD") // another etcd than the one that make setup-test installs
	if program == "" {
		program = needed.Tool(t, "etcd")
	}
	c := &cluster{t: t, program: program, folder: folder, state: "new", more: more}
	ports, listen := freePorts(t, 6), map[string]string{}
	for i := range 3 {
		m := &member{name: fmt.Sprint("m", i+1), client: ports[2*i], peer: ports[2*i+1]}
		m.folder = filepath.Join(c.folder, m.name)
		c.members, listen[m.name] = append(c.members, m), m.peer
	}
	var called map[string]string
	c.peers, called = startPeers(t, listen)
	for _, m := range c.members {
		m.called = called[m.name]
	}
	for _, m := range c.members {
		c.start(m)
	}
	c.await()
	c.learnIDs()
	return c
}

func (c *cluster) start(m *member) {
	c.t.Helper()
	var all []string
	for _, m := range c.members {
		all = append(all, m.name+"=http://"+m.called)
	}
	m.said = &bytes.Buffer{}
	m.process = exec.Command(c.program, append([]string{"--name", m.name, "--data-dir", m.folder,
		"--listen-client-urls", "http://" + m.client, "--advertise-client-urls", "http://" + m.client,
		"--listen-peer-urls", "http://" + m.peer, "--initial-advertise-peer-urls", "http://" + m.called,
		"--initial-cluster", strings.Join(all, ","), "--initial-cluster-state", c.state, "--logger", "zap", "--log-outputs", "stderr",
		"--log-level", "error"}, c.more...)...)
	m.process.Stderr, m.process.Stdout = m.said, m.said
	if err := m.process.Start(); err != nil {
		c.t.Fatal(err)
	}
}

// kill ends a member without warning.
func (m *member) kill() {
	if m.process != nil {
		_ = m.process.Process.Signal(syscall.SIGCONT)
		_ = m.process.Process.Kill()
		_ = m.process.Wait()
		m.process = nil
	}
}

func (c *cluster) addresses() (all []string) {
	for _, m := range c.members {
		all = append(all, m.client)
	}
	return all
}

func (c *cluster) access() Access { return Access{Members: c.addresses()} }

// client is a bare client.
func (c *cluster) client() *clientv3.Client {
	c.t.Helper()
	client, err := clientv3.New(c.access().config())
	if err != nil {
		c.t.Fatal(err)
	}
	c.t.Cleanup(func() { _ = client.Close() })
	return client
}

// await waits until the members take writes.
func (c *cluster) await() {
	c.t.Helper()
	client, err := clientv3.New(c.access().config())
	if err != nil {
		c.t.Fatal(err)
	}
	defer client.Close()
	for until := time.Now().Add(30 * time.Second); ; {
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		_, err := client.Put(ctx, "ready", "")
		cancel()
		if err == nil {
			return
		}
		if time.Now().After(until) {
			for _, m := range c.members {
				c.t.Logf("%s: %s", m.name, m.said)
			}
			c.t.Fatal(err)
		}
	}
}

// leader is the member that leads.
func (c *cluster) leader() *member {
	c.t.Helper()
	client := c.client()
	for until := time.Now().Add(30 * time.Second); time.Now().Before(until); {
		for _, m := range c.members {
			if m.process == nil {
				continue
			}
			ctx, cancel := context.WithTimeout(context.Background(), time.Second)
			r, err := client.Status(ctx, m.client)
			cancel()
			if err == nil && r.Leader == r.Header.MemberId {
				return m
			}
		}
	}
	c.t.Fatal("no member leads")
	return nil
}

// open opens a store under a prefix, and closes it with the test.
func (c *cluster) open(t testing.TB, prefix string) *Store {
	t.Helper()
	s, err := Open(c.access(), prefix)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// prefixCount asks how many keys stand under a prefix.
func prefixCount() []clientv3.OpOption {
	return []clientv3.OpOption{clientv3.WithPrefix(), clientv3.WithCountOnly()}
}
