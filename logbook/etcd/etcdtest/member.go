// Package etcdtest starts an etcd for tests, of one member, and does what whoever runs one does.
package etcdtest

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook/needed"

	"go.etcd.io/etcd/api/v3/v3rpc/rpctypes"
	clientv3 "go.etcd.io/etcd/client/v3"
	"go.uber.org/zap"
)

// A Member is all of an etcd, as a process that ends with the test.
type Member struct {
	Address string // host and port

	t       testing.TB
	options []string
	process *exec.Cmd
	client  *clientv3.Client
}

// Start starts a member with its data in a folder, which is spoken to in the clear.
func Start(t testing.TB, folder string, options ...string) *Member {
	t.Helper()
	return start(t, folder, "http://", clientv3.Config{}, options)
}

// StartLocked starts one that asks for certificates. In the folder lie those of its authority (ca.pem), its own
// (server.pem, server.key), and one for this package (root.pem, root.key).
func StartLocked(t testing.TB, folder string) *Member {
	t.Helper()
	at := func(name string) string { return filepath.Join(folder, name) }
	pair, err := tls.LoadX509KeyPair(at("root.pem"), at("root.key"))
	if err != nil {
		t.Fatal(err)
	}
	own := clientv3.Config{TLS: &tls.Config{Certificates: []tls.Certificate{pair}, InsecureSkipVerify: true}}
	return start(t, folder, "https://", own, []string{"--client-cert-auth", "--trusted-ca-file", at("ca.pem"),
		"--cert-file", at("server.pem"), "--key-file", at("server.key")})
}

func start(t testing.TB, folder, scheme string, own clientv3.Config, options []string) *Member {
	t.Helper()
	m := &Member{t: t}
	var peer string
	for _, to := range []*string{&m.Address, &peer} {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		*to = l.Addr().String()
		_ = l.Close()
	}
	m.options = append([]string{"--name", "m", "--data-dir", filepath.Join(folder, "m"),
		"--listen-client-urls", scheme + m.Address, "--advertise-client-urls", scheme + m.Address,
		"--listen-peer-urls", "http://" + peer, "--initial-advertise-peer-urls", "http://" + peer, "--initial-cluster", "m=http://" + peer,
		"--logger", "zap", "--log-level", "error"}, options...)
	m.Start()
	t.Cleanup(m.Kill)
	own.Endpoints, own.Logger = []string{scheme + m.Address}, zap.NewNop()
	var err error
	if m.client, err = clientv3.New(own); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = m.client.Close() })
	return m
}

// Start starts the member anew that was killed.
func (m *Member) Start() {
	m.t.Helper()
	m.process = exec.Command(needed.Tool(m.t, "etcd"), m.options...)
	if err := m.process.Start(); err != nil {
		m.t.Fatal(err)
	}
}

// Kill ends the member without warning.
func (m *Member) Kill() {
	_ = m.process.Process.Kill()
	_ = m.process.Wait()
}

// soon does something once etcd answers.
func (m *Member) soon(do func(context.Context) error) {
	m.t.Helper()
	for until := time.Now().Add(time.Minute); ; {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		err := do(ctx)
		cancel()
		if err == nil {
			return
		}
		if time.Now().After(until) {
			m.t.Fatal(err)
		}
		<-time.After(20 * time.Millisecond)
	}
}

// Users has etcd ask for users: root, who comes by a certificate of that name, and studio with a password, who may
// read and write under studio/.
func (m *Member) Users(password string) {
	m.t.Helper()
	m.soon(func(ctx context.Context) error {
		c := m.client
		for _, do := range []func() error{
			func() error { _, err := c.UserAdd(ctx, "root", "of the machine"); return err },
			func() error { _, err := c.UserGrantRole(ctx, "root", "root"); return err },
			func() error { _, err := c.RoleAdd(ctx, "studio"); return err },
			func() error { return m.allow(ctx) },
			func() error { _, err := c.UserAdd(ctx, "studio", password); return err },
			func() error { _, err := c.UserGrantRole(ctx, "studio", "studio"); return err },
			func() error { _, err := c.AuthEnable(ctx); return err },
		} {
			if err := do(); err != nil && !strings.Contains(err.Error(), "already") {
				return err
			}
		}
		return nil
	})
}

func (m *Member) allow(ctx context.Context) error {
	_, err := m.client.RoleGrantPermission(ctx, "studio", "studio/", "studio0", clientv3.PermissionType(clientv3.PermReadWrite))
	return err
}

// Allow gives the user studio the right that Forbid takes.
func (m *Member) Allow() {
	m.t.Helper()
	m.soon(m.allow)
}

// Forbid takes the right that the user studio has.
func (m *Member) Forbid() {
	m.t.Helper()
	m.soon(func(ctx context.Context) error {
		_, err := m.client.RoleRevokePermission(ctx, "studio", "studio/", "studio0")
		return err
	})
}

// Password gives the user studio another password.
func (m *Member) Password(text string) {
	m.t.Helper()
	m.soon(func(ctx context.Context) error {
		_, err := m.client.UserChangePassword(ctx, "studio", text)
		return err
	})
}

// garbage is the key of what Fill writes.
const garbage = "garbage"

// Fill writes so many bytes that are of no use, or fewer where etcd has reached its quota; that it tells.
func (m *Member) Fill(bytes int) (full bool) {
	m.t.Helper()
	const each = 256 << 10
	for written := 0; written < bytes && !full; written += each {
		m.soon(func(ctx context.Context) error {
			_, err := m.client.Put(ctx, garbage, strings.Repeat("x", each))
			if full = errors.Is(err, rpctypes.ErrNoSpace); full {
				return nil
			}
			return err
		})
	}
	return full
}

// MakeRoom does what somebody does who finds the quota reached.
func (m *Member) MakeRoom() {
	m.t.Helper()
	m.soon(func(ctx context.Context) error {
		if _, err := m.client.Delete(ctx, garbage); err != nil {
			return err
		}
		r, err := m.client.Get(ctx, garbage)
		if err != nil {
			return err
		}
		_, err = m.client.Compact(ctx, r.Header.Revision, clientv3.WithCompactPhysical())
		if err != nil && !errors.Is(err, rpctypes.ErrCompacted) {
			return err
		}
		if _, err := m.client.Defragment(ctx, m.client.Endpoints()[0]); err != nil {
			return err
		}
		_, err = m.client.AlarmDisarm(ctx, &clientv3.AlarmMember{})
		return err
	})
}
