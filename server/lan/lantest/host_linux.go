package lantest

import (
	"bytes"
	"context"
	"fmt"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// A Host is a machine of its own as far as the network is concerned. It has its own /run.
type Host struct {
	t   testing.TB
	pid int // of the process that keeps the namespaces
}

// Pair makes two hosts and joins them by cables: e0, e1 and so on at each, which are up and
// have no address but a link-local one of IPv6. Where the system lets nobody make
// namespaces the test is skipped, and says what is tested instead.
func Pair(t testing.TB, cables int, instead string) (a, b *Host) {
	t.Helper()
	for _, program := range []string{"ip", "nsenter", "iptables", "avahi-daemon", "python3"} {
		if _, err := exec.LookPath(program); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatalf("NOT CHECKED: %v, and CI is set; make setup-test installs it", err)
			}
			t.Skipf("SKIPPED, NOT CHECKED between network namespaces: %v. %s", err, instead)
		}
	}
	a, b = host(t, instead), host(t, instead)
	for i := range cables {
		end := fmt.Sprintf("e%d", i)
		a.Run("ip", "link", "add", end, "type", "veth", "peer", "name", end, "netns", strconv.Itoa(b.pid))
		a.Run("ip", "link", "set", end, "up")
		b.Run("ip", "link", "set", end, "up")
	}
	return a, b
}

// host starts a process in new namespaces. They end with it, and it ends with the test,
// because it reads from it.
func host(t testing.TB, instead string) *Host {
	t.Helper()
	keeper := exec.Command("cat")
	keeper.SysProcAttr = &syscall.SysProcAttr{Unshareflags: syscall.CLONE_NEWNET | syscall.CLONE_NEWNS}
	in, err := keeper.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := keeper.Start(); err != nil {
		t.Skipf("SKIPPED, NOT CHECKED between network namespaces, which are not allowed here: %v. %s", err, instead)
	}
	t.Cleanup(func() {
		_ = in.Close()
		_ = keeper.Wait()
	})
	h := &Host{t, keeper.Process.Pid}
	h.Run("mount", "-t", "tmpfs", "tmpfs", "/run")
	h.Run("mount", "-t", "sysfs", "sysfs", "/sys") // else it shows the interfaces of the machine
	h.Run("sh", "-c", "echo 0 >/proc/sys/net/ipv6/conf/all/accept_dad; echo 0 >/proc/sys/net/ipv6/conf/default/accept_dad")
	h.Run("ip", "link", "set", "lo", "up")
	return h
}

// output keeps what a program writes.
type output struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (o *output) Write(b []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.Write(b)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.String()
}

// Command is a program to be run on the host.
func (h *Host) Command(name string, args ...string) *exec.Cmd {
	return exec.Command("nsenter", append([]string{"-t", strconv.Itoa(h.pid), "-n", "-m", "--", name}, args...)...)
}

// Run runs a program on the host and returns what it printed.
func (h *Host) Run(name string, args ...string) string {
	h.t.Helper()
	out, err := h.Command(name, args...).CombinedOutput()
	if err != nil {
		h.t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
	return string(out)
}

// Has gives an interface an address, such as 10.0.0.1/24.
func (h *Host) Has(link, prefix string) {
	h.t.Helper()
	args := []string{"addr", "add", prefix, "dev", link}
	if strings.Contains(prefix, ":") {
		args = append(args, "nodad")
	}
	h.Run("ip", args...)
}

// HasNot takes an address away.
func (h *Host) HasNot(link, prefix string) {
	h.t.Helper()
	h.Run("ip", "addr", "del", prefix, "dev", link)
}

// Start starts a program on the host, which is ended with the test or by stop; said is
// what it has written, which is shown when the test fails.
func (h *Host) Start(name string, args ...string) (said func() string, stop func()) {
	h.t.Helper()
	c := h.Command(name, args...)
	out := new(output)
	c.Stdout, c.Stderr = out, out
	if err := c.Start(); err != nil {
		h.t.Fatal(err)
	}
	stop = sync.OnceFunc(func() {
		_ = c.Process.Signal(syscall.SIGTERM)
		late := time.AfterFunc(10*time.Second, func() { _ = c.Process.Kill() })
		defer late.Stop()
		_ = c.Wait()
		if h.t.Failed() {
			h.t.Logf("%s on its host wrote:\n%s", name, out.String())
		}
	})
	h.t.Cleanup(stop)
	return out.String, stop
}

// HoldPort has a program hold a UDP port that it shares with no other, until the test ends.
func (h *Host) HoldPort(port int) {
	h.t.Helper()
	said, _ := h.Start("python3", "-u", "-c", fmt.Sprintf(
		"import socket, signal\ns = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)\ns.bind(('', %d))\nprint('held')\nsignal.pause()", port))
	h.Until("the port is held", func() bool { return strings.Contains(said(), "held") })
}

// StartResponder starts Avahi, the responder of most Linux systems, which also finds names
// for the host, and waits until it is ready. The host tells its own name by it as name.local,
// and one service, so that it answers whoever asks what services there are.
func (h *Host) StartResponder(name string) (said func() string, stop func()) {
	h.t.Helper()
	folder := h.t.TempDir()
	config := filepath.Join(folder, "avahi.conf")
	sources := filepath.Join(folder, "nsswitch.conf")
	write := func(path, text string) {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			h.t.Fatal(err)
		}
	}
	write(config, "[server]\nhost-name="+name+"\nuse-ipv4=yes\nuse-ipv6=yes\nenable-dbus=no\nratelimit-interval-usec=0\n"+
		"[publish]\npublish-hinfo=no\npublish-workstation=yes\n")
	write(sources, "hosts: files mdns_minimal\n")
	h.Run("mount", "--bind", sources, "/etc/nsswitch.conf") // over the one before, if any
	said, stop = h.Start("avahi-daemon", "--no-drop-root", "--no-chroot", "--no-rlimits", "-f", config)
	h.Until("the responder is ready", func() bool { return strings.Contains(said(), "Server startup complete") })
	return said, stop
}

// Find asks the host's system for the addresses of a name, as every program there does.
func (h *Host) Find(name string) (list []netip.Addr) {
	h.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	c := h.Command("getent", "ahosts", name)
	stop := context.AfterFunc(ctx, func() { _ = c.Process.Kill() })
	defer stop()
	out, err := c.Output()
	if err != nil {
		return nil // it has none
	}
	for line := range strings.Lines(string(out)) {
		word, _, _ := strings.Cut(line, " ")
		a, err := netip.ParseAddr(word)
		if err != nil {
			h.t.Fatalf("getent ahosts %s: %q", name, line)
		}
		list = append(list, a.WithZone("")) // some versions of the resolver add one to every address
	}
	slices.SortFunc(list, netip.Addr.Compare)
	return slices.Compact(list)
}

// Until waits until something is so, and fails the test when it is not after a minute.
func (h *Host) Until(what string, so func() bool) {
	h.t.Helper()
	for limit := time.Now().Add(time.Minute); !so(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(limit) {
			h.t.Fatalf("a minute later it is not so: %s", what)
		}
	}
}
