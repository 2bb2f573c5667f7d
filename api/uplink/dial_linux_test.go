package uplink

import (
	"net"
	"syscall"
	"testing"
	"time"
)

// TestAConnectionThatNobodyHearsIsGivenUp: a link would wait for it for minutes when the network is there again.
func TestAConnectionThatNobodyHearsIsGivenUp(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	c, err := dialler{}.dial(t.Context(), "tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	raw, err := c.(*net.TCPConn).SyscallConn()
	if err != nil {
		t.Fatal(err)
	}
	set := 0
	failed := raw.Control(func(fd uintptr) { set, err = syscall.GetsockoptInt(int(fd), syscall.IPPROTO_TCP, tcpUserTimeout) })
	if failed != nil || err != nil || time.Duration(set)*time.Millisecond != unheard {
		t.Errorf("it is given up after %d ms (%v, %v), want %s", set, failed, err, unheard)
	}
}
