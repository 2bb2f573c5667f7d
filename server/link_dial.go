package main

import (
	"context"
	"fmt"
	"net"
	"strings"
	"time"

	"evenwhite/server/lan"
	"evenwhite/server/lan/name"
)

// lookTime is how long a name of the local network is asked for.
const lookTime = 1500 * time.Millisecond

// findNamed is where a server may be found, best first. Names of the local network are found as this program
// tells its own: most systems that servers run on ask no one for them.
func findNamed(ctx context.Context, address string) (all []string, err error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, err
	}
	label, local := strings.CutSuffix(host, ".local")
	if !local {
		return []string{address}, nil
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
	for _, at := range seen.Told {
		all = append(all, net.JoinHostPort(at.String(), port))
	}
	if len(all) == 0 {
		err = fmt.Errorf("nobody on this network tells the name %s", host)
	}
	return append(all, address), err // by a name server, or a file of hosts
}
