package quota

import (
	"bytes"
	"errors"
	"io"
	"net"
	"testing"
	"testing/iotest"
)

func TestABudgetIsHeldByEachAndAll(t *testing.T) {
	b := NewBudget(10, 6)
	take := func(name string, n int64, want bool) {
		t.Helper()
		if got := b.Take(name, n); got != want {
			t.Errorf("%d for %s: got %v, want %v", n, name, got, want)
		}
	}
	take("a", 7, false) // more than each may
	take("a", 6, true)
	take("a", 1, false)
	take("b", 5, false) // more than is left
	take("b", 4, true)
	take("c", 1, false)
	b.Give("a", 6)
	take("c", 6, true)
	b.Give("b", 4)
	b.Give("c", 6)
	if b.total != 0 || len(b.held) != 0 {
		t.Errorf("all is given back, and %d of %v is held", b.total, b.held)
	}
}

func TestABodyIsCountedAsItComes(t *testing.T) {
	want := bytes.Repeat([]byte("white"), 50_000)
	b := NewBudget(1<<20, 1<<20)
	for name, r := range map[string]io.Reader{
		"whole": bytes.NewReader(want), "a byte at a time": iotest.OneByteReader(bytes.NewReader(want)),
		"with its end": iotest.DataErrReader(bytes.NewReader(want)),
	} {
		body, done, err := b.Read("a", r)
		if err != nil || !bytes.Equal(body, want) {
			t.Errorf("%s: got %d bytes (%v), want %d", name, len(body), err, len(want))
		}
		if b.total < int64(len(want)) || b.total > 4*int64(len(want)) {
			t.Errorf("%s: %d bytes are counted while %d are held", name, b.total, len(want))
		}
		done()
		done()
		if b.total != 0 {
			t.Errorf("%s: %d bytes are held after it is done", name, b.total)
		}
	}
	fault := errors.New("fault")
	for name, c := range map[string]struct {
		r    io.Reader
		want error
	}{
		"too long for each":  {bytes.NewReader(make([]byte, 2<<20)), ErrBusy},
		"cut off on its way": {io.MultiReader(bytes.NewReader(want), iotest.ErrReader(fault)), fault},
	} {
		_, done, err := b.Read("a", c.r)
		if !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
		if done(); b.total != 0 {
			t.Errorf("%s: %d bytes are held after it is done", name, b.total)
		}
	}
}

func TestConnectionsOfOneAddressAreBounded(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	bounded := Listen(l, 3, 2)
	t.Cleanup(func() { _ = bounded.Close() })
	accepted := make(chan net.Conn, 10)
	go func() {
		for {
			c, err := bounded.Accept()
			if err != nil {
				return
			}
			accepted <- c
		}
	}()
	dial := func(from byte) net.Conn {
		t.Helper()
		d := net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 0, from)}}
		c, err := d.Dial("tcp", l.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = c.Close() })
		return c
	}
	closed := func(c net.Conn) {
		t.Helper()
		if _, err := c.Read(make([]byte, 1)); err == nil {
			t.Error("a connection too many says something")
		}
	}
	dial(1)
	first := <-accepted
	dial(1)
	<-accepted
	closed(dial(1)) // too many of its address
	dial(2)
	<-accepted
	closed(dial(3)) // too many in all
	_ = first.Close()
	_ = first.Close()
	dial(1)
	<-accepted
}
