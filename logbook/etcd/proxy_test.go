package etcd

import (
	"bufio"
	"bytes"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
)

// peers are proxies between the members: each is called by the others through one, which knows who
// calls by the first lines that it says. So a member can be cut off from its peers, and from no client.
type peers struct {
	mu   sync.Mutex
	cut  string // the name of the member, or ""
	ids  map[string]string
	open map[net.Conn]string // connections, with whom they touch
}

const fromHeader = "x-server-from: "

// startPeers puts a proxy before each address of a member, by name; it returns where they listen.
func startPeers(t testing.TB, of map[string]string) (p *peers, at map[string]string) {
	t.Helper()
	p, at = &peers{ids: map[string]string{}, open: map[net.Conn]string{}}, map[string]string{}
	for name, address := range of {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		at[name] = l.Addr().String()
		go func() {
			for {
				c, err := l.Accept()
				if err != nil {
					return
				}
				go p.serve(c, name, address)
			}
		}()
	}
	return p, at
}

func (p *peers) serve(from net.Conn, name, address string) {
	defer from.Close()
	in := bufio.NewReader(from)
	var said bytes.Buffer
	caller := ""
	for {
		line, err := in.ReadString('\n')
		said.WriteString(line)
		if err != nil {
			return
		}
		if id, ok := strings.CutPrefix(strings.ToLower(strings.TrimSpace(line)), fromHeader); ok {
			caller = id
		}
		if strings.TrimSpace(line) == "" {
			break
		}
	}
	to, err := net.Dial("tcp", address)
	if err != nil {
		return
	}
	defer to.Close()
	if !p.enter(from, to, caller, name) {
		return
	}
	go func() {
		_, _ = io.Copy(to, io.MultiReader(&said, in))
		_ = to.Close()
	}()
	_, _ = io.Copy(from, to)
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.open, from)
	delete(p.open, to)
}

func (p *peers) enter(from, to net.Conn, caller, name string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	touches := p.ids[caller] + " " + name
	if p.cut != "" && strings.Contains(touches, p.cut) {
		return false
	}
	p.open[from], p.open[to] = touches, touches
	return true
}

// part cuts a member off from its peers, or with "" none.
func (p *peers) part(name string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.cut = name
	for c, touches := range p.open {
		if name != "" && strings.Contains(touches, name) {
			_ = c.Close()
		}
	}
}
