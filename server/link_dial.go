package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"strings"
	"time"

	"evenwhite/server/lan"
	"evenwhite/server/lan/name"
)

// lookTime is how long a name of the local network is asked for.
const lookTime = 1500 * time.Millisecond

// dialNamed dials a server, and finds names of the local network as this program tells its own: most
// systems that servers run on ask no one for them.
func dialNamed(ctx context.Context, network, address string) (net.Conn, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, err
	}
	dialer := net.Dialer{Timeout: 20 * time.Second}
	label, local := strings.CutSuffix(host, ".local")
	if !local {
		return dialer.DialContext(ctx, network, address)
	}
	reach, err := lan.Interfaces()
	if err != nil {
		return nil, err
	}
	looking, cancel := context.WithTimeout(ctx, lookTime)
	defer cancel()
	seen, err := name.Look(looking, label, links(reach))
	if err != nil {
		return nil, err
	}
	failed := fmt.Errorf("nobody on this network tells the name %s", host)
	for _, at := range seen.Told {
		connection, err := dialer.DialContext(ctx, network, net.JoinHostPort(at.String(), port))
		if err == nil {
			return connection, nil
		}
		failed = err
	}
	connection, err := dialer.DialContext(ctx, network, address) // by a name server, or a file of hosts
	if err != nil {
		return nil, errors.Join(failed, err)
	}
	return connection, nil
}
