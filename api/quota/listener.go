package quota

import (
	"net"
	"sync"
)

// A listener closes connections beyond its budget at once.
type listener struct {
	net.Listener
	open *Budget
}

// Listen bounds the connections of a listener: so many in all, and from each address.
func Listen(l net.Listener, most, each int64) net.Listener {
	return &listener{l, NewBudget(most, each)}
}

// Accept implements net.Listener.
func (l *listener) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		host, _, err := net.SplitHostPort(c.RemoteAddr().String())
		if err != nil {
			host = c.RemoteAddr().String()
		}
		if l.open.Take(host, 1) {
			return &connection{Conn: c, give: func() { l.open.Give(host, 1) }}, nil
		}
		_ = c.Close() // an answer would be written to whoever is flooding
	}
}

type connection struct {
	net.Conn
	once sync.Once
	give func()
}

// CloseWrite lets the HTTP server end an answer before it ends the connection: else what
// was not read yet of a body makes the answer be lost.
func (c *connection) CloseWrite() error {
	if half, ok := c.Conn.(interface{ CloseWrite() error }); ok {
		return half.CloseWrite()
	}
	return nil
}

// Close implements net.Conn.
func (c *connection) Close() error {
	c.once.Do(c.give)
	return c.Conn.Close()
}
