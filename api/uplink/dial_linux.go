package uplink

import (
	"syscall"
	"time"
)

// unheard is after which time a connection is given up whose other end acknowledges nothing. By itself the
// system waits for a quarter of an hour.
const unheard = 20 * time.Second

const tcpUserTimeout = 18 // TCP_USER_TIMEOUT of tcp(7), in milliseconds

func giveUp(_, _ string, c syscall.RawConn) (err error) {
	failed := c.Control(func(fd uintptr) {
		err = syscall.SetsockoptInt(int(fd), syscall.IPPROTO_TCP, tcpUserTimeout, int(unheard/time.Millisecond))
	})
	if failed != nil {
		return failed
	}
	return err
}
