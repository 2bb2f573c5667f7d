package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"strconv"
	"time"

	"evenwhite/api"
	"evenwhite/api/door"
	"evenwhite/api/quota"
	"evenwhite/server/command"
	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/lan/trust"
	webapp "evenwhite/server/phone"
)

// A doorway is where the server listens, and what answers there.
type doorway struct {
	listener net.Listener
	tls      *tls.Config // nil: plain
	handler  http.Handler
}

// open listens: with --listen at one address and no more, else under the origin for the
// network, and plainly for the desk of this machine and whoever does not trust it yet.
func (h *host) open(ctx context.Context) (err error) {
	if h.listen != "" {
		if h.secure, err = net.Listen("tcp", h.listen); err != nil {
			return command.Fail(err, "another program may have the port: choose one with --listen, or 127.0.0.1:0 for any")
		}
		h.at = address{h.secure.Addr().(*net.TCPAddr), h.pair}
		return nil
	}
	if err := h.settleOrigin(); err != nil {
		return err
	}
	if h.reach, err = lan.Interfaces(); err != nil {
		h.log.Warn("the network interfaces could not be listed: only this machine may reach the server", "error", err)
	}
	named := h.askForName(ctx)
	err = h.openPorts()
	if other := named(); err == nil {
		err = other
	}
	if err == nil {
		err = h.openCertificates()
	}
	if err == nil {
		err = h.keepOrigin(h.secure)
	}
	if err != nil {
		h.closeName()
		h.close()
	}
	return err
}

// openPorts listens under the origin, and for the desk.
func (h *host) openPorts() (err error) {
	if h.secure, err = net.Listen("tcp", ":"+strconv.Itoa(h.origin.Port)); err != nil {
		return portFailure(err, "stop that one. The port is part of the origin that browsers know: "+
			"another, with --port, is best chosen at the first start")
	}
	if h.plain, err = net.Listen("tcp", ":"+strconv.Itoa(h.deskPort)); err != nil {
		return portFailure(err, "choose one with --desk-port, or 0 for any")
	}
	h.at = address{listen: h.plain.Addr().(*net.TCPAddr)}
	return nil
}

// portFailure says what to do about a port that cannot be had.
func portFailure(err error, otherwise string) error {
	if errors.Is(err, os.ErrPermission) {
		return command.Fail(err, "nothing was changed. Ports below 1024 are for who may have them: choose a higher one")
	}
	return command.Fail(err, "another program may have the port: "+otherwise)
}

func (h *host) close() {
	for _, l := range []net.Listener{h.secure, h.plain} {
		if l != nil {
			_ = l.Close()
		}
	}
}

// openCertificates prepares TLS under the origin.
func (h *host) openCertificates() (err error) {
	if h.pair != nil {
		return nil
	}
	if h.authority, err = openAuthority(h.folder, h.origin.Host(), h.rename, time.Now(), h.log); err != nil {
		return err
	}
	h.leaves, err = h.authority.Leaves(time.Now, lan.Addresses(h.reach))
	return err
}

// site is how the server is called. A certificate from elsewhere may hold several names.
func (h *host) site() api.Site {
	s := api.Site{Origin: h.at.url()}
	port := h.at.listen.Port
	if h.listen == "" {
		s.Origin, s.Name, port = h.origin.String(), h.origin.Name, h.origin.Port
		s.Origins = []string{h.at.url(), "http://localhost:" + strconv.Itoa(h.at.listen.Port)}
	}
	if h.pair != nil {
		for _, name := range h.pair.Leaf.DNSNames {
			s.Origins = append(s.Origins, lan.OriginAt(name, port))
		}
	}
	if h.authority != nil {
		s.RootFingerprint = h.authority.Fingerprint()
	}
	return s
}

// doorways are the listeners with what answers there.
func (h *host) doorways(contract http.Handler) []doorway {
	site := h.deskSite(contract)
	app, has := webapp.Open()
	if has {
		site.App = appPath
	} else {
		h.log.Warn(webapp.HowToBuild)
	}
	handler := site.Handler()
	if has {
		handler = h.withApp(app, handler)
	}
	config := &tls.Config{MinVersion: tls.VersionTLS12}
	switch {
	case h.pair != nil:
		config.Certificates = []tls.Certificate{*h.pair}
	case h.leaves != nil:
		config.GetCertificate = h.leaves.GetCertificate
	default:
		config = nil
	}
	out := []doorway{{h.secure, config, handler}}
	if h.plain != nil {
		trusted := h.trusted()
		out[0].handler = trusted.Health(handler)
		out = append(out, doorway{h.plain, nil, hereOnly(trusted.WithRoots(handler), trusted.Handler())})
	}
	most := connectionsAtMost() / int64(len(out))
	for i := range out {
		out[i].listener = quota.Listen(api.ProblemListener(out[i].listener), most, most/4)
	}
	return out
}

// hereOnly gives to who calls from this machine what is within, and to all others what is outside.
func hereOnly(within, outside http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if door.AtMachine(r) {
			within.ServeHTTP(w, r)
			return
		}
		outside.ServeHTTP(w, r)
	})
}

// trusted is what the trust page tells of this server.
func (h *host) trusted() trust.Site {
	s := trust.Site{Name: h.origin.Host(), Origin: h.origin.String(), Port: h.at.listen.Port, Own: func() []netip.Addr {
		now, err := lan.Interfaces()
		if err != nil {
			return nil // the page then says that it cannot tell whether it found this server
		}
		return lan.Addresses(now)
	}}
	if h.authority != nil {
		s.Root, s.Until = h.authority.Root(), h.authority.NotAfter()
		s.Fingerprint = authority.Grouped(h.authority.Fingerprint())
	}
	return s
}

// serverFor makes the server of a doorway.
func (h *host) serverFor(ctx context.Context, d doorway) *http.Server {
	return &http.Server{
		Handler: d.handler, TLSConfig: d.tls, ReadHeaderTimeout: headerTime, ReadTimeout: requestTime, IdleTimeout: idleTime,
		BaseContext:    func(net.Listener) context.Context { return ctx }, // ends event streams before the server waits for them
		MaxHeaderBytes: 32 << 10, ErrorLog: slog.NewLogLogger(h.log.Handler(), slog.LevelWarn),
	}
}

func (d doorway) serve(server *http.Server) error {
	if d.tls == nil {
		return server.Serve(d.listener)
	}
	return server.ServeTLS(d.listener, "", "") // which also offers HTTP/2
}

// watchNetwork has the certificate follow the machine's addresses until ctx ends.
func (h *host) watchNetwork(ctx context.Context) {
	tick := time.NewTicker(lan.WatchEvery)
	defer tick.Stop()
	lan.Watch(ctx, h.reach, tick.C, lan.Interfaces, func(now []lan.Interface) {
		h.log.Info("this machine's addresses changed", "addresses", fmt.Sprint(lan.Addresses(now)))
		h.uplinks.Retry()
		if h.leaves != nil {
			if err := h.leaves.Reach(lan.Addresses(now)); err != nil {
				h.log.Warn("the certificate could not be made anew: the old one stays, and names old addresses", "error", err)
			}
		}
		if h.teller != nil {
			h.teller.Move(links(now))
		}
	})
}
