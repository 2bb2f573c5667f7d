package uplink

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
)

// A dialler reaches a server at the first of its addresses where it is: another machine may tell the same name.
type dialler struct {
	find   func(context.Context, string) ([]string, error) // nil: it is at its own address
	trusts *tls.Config
}

// dial reaches what speaks no TLS, or a proxy.
func (d dialler) dial(ctx context.Context, network, address string) (net.Conn, error) {
	return d.each(ctx, network, address, func(_ context.Context, c net.Conn) (net.Conn, error) { return c, nil })
}

// dialTLS goes on to the next address also from one that shows another certificate.
func (d dialler) dialTLS(ctx context.Context, network, address string) (net.Conn, error) {
	return d.each(ctx, network, address, func(ctx context.Context, c net.Conn) (net.Conn, error) {
		t := tls.Client(c, d.trusts)
		return t, t.HandshakeContext(ctx)
	})
}

func (d dialler) each(ctx context.Context, network, address string,
	meet func(context.Context, net.Conn) (net.Conn, error)) (net.Conn, error) {
	all, failed := []string{address}, error(nil)
	if d.find != nil {
		all, failed = d.find(ctx, address)
	}
	for _, at := range all {
		met, err := d.one(ctx, network, at, len(all) > 1, meet)
		if err == nil {
			return met, nil
		}
		if failed != nil {
			err = fmt.Errorf("%w; %w", failed, err)
		}
		failed = err
	}
	return nil, failed
}

func (d dialler) one(ctx context.Context, network, at string, others bool,
	meet func(context.Context, net.Conn) (net.Conn, error)) (met net.Conn, err error) {
	limit := dialTime
	if others {
		limit = dialOne
	}
	dialling, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	c, err := (&net.Dialer{Control: giveUp}).DialContext(dialling, network, at)
	if err != nil {
		return nil, err
	}
	meeting, cancel := context.WithTimeout(ctx, dialTime)
	defer cancel()
	if met, err = meet(meeting, c); err != nil {
		_ = c.Close()
		return nil, err
	}
	return met, nil
}
