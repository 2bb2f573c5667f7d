package main

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"syscall"
	"time"

	"evenwhite/api"
	"evenwhite/api/pairing"
	"evenwhite/api/uplink"
	"evenwhite/logbook"
	"evenwhite/server/command"
	"evenwhite/server/desk"
	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/lan/name"
	"evenwhite/server/qr"
)

// How long a client may take. Answers have no limit of their own: a colour log may
// go out over a slow link.
const (
	headerTime   = 10 * time.Second
	requestTime  = time.Minute
	idleTime     = 2 * time.Minute
	shutdownTime = 10 * time.Second
)

// The bounds of open connections, of which one address has a quarter. What is left of the
// files that a process may open is for the data, its backups and the console.
const (
	fewestConnections = 64
	mostConnections   = 2048
)

// A host is a server in the making: each step adds what the next one needs.
type host struct {
	serveOptions
	t     command.Terminal
	log   *slog.Logger
	pair  *tls.Certificate // nil without TLS
	store servedStore
	logs  *api.Logs
	auth  *pairing.Auth
	keep  *keeper // of backups; nil where none are wished

	uplinks *uplink.Uplinks // with other servers

	register *pairing.Register // of who was paired and revoked
	console  *console
	seats    *desk.Seats // at the machine

	secure, plain net.Listener         // plain is nil with --listen
	at            address              // by which this machine calls it
	origin        lan.Origin           // of no name with --listen
	isKept        bool                 // the data had an origin before
	reach         []lan.Interface      // at the start
	authority     *authority.Authority // nil without certificates of its own
	leaves        *authority.Leaves    // nil likewise
	teller        *name.Teller         // nil where the name is not told
	unnamed       string               // why it cannot be, or ""
}

// clock is what the server goes by for whom it lets in, and for edits. A test sets another.
var clock = time.Now

// How this server finds others that it is linked with, and how often it asks them where nothing
// wakes it. A test sets others.
var (
	findLink  = findNamed
	linkPause = time.Minute
)

// serveUntil runs the server until ctx ends.
func serveUntil(ctx context.Context, t command.Terminal, o serveOptions) (err error) {
	h := &host{serveOptions: o, t: t, log: slog.New(slog.NewTextHandler(t.Err, nil)), seats: desk.NewSeats(time.Now)}
	if h.pair, err = loadPair(o); err != nil {
		return err
	}
	if h.store, err = openServed(o); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.store.Close()) }()
	if h.register, err = pairing.OpenRegister(o.folder, h.log); err != nil {
		return err
	}
	if o.backupEvery > 0 {
		if h.keep, err = newKeeper(h.store, h.log, o); err != nil {
			return err
		}
		h.keep.register = h.register
		h.register.KeepAlso(h.keep.folders()...)
	}
	if o.demo {
		if err := fillDemoIn(h.store, h.t); errors.Is(err, logbook.ErrRemoved) {
			h.log.Warn("the invented production is not there: it was removed from this server")
		} else if err != nil {
			return err
		}
	}
	if o.keysFile != "" {
		if err := h.takeSavedKeys(); err != nil {
			return err
		}
	}
	key, err := h.openSharedKey()
	if err != nil {
		return err
	}
	if h.auth, err = pairing.OpenAuth(pairing.Config{Keep: h.store, Key: key, Register: h.register, Now: clock, Log: h.log}); err != nil {
		return err
	}
	h.logs = api.NewLogs(h.store)
	if err := h.open(ctx); err != nil {
		return err
	}
	defer h.closeName()
	h.uplinks, err = uplink.Open(uplink.Config{Store: linksOf(h.store, o.folder), Logs: h.logs, Server: h.auth.Own().String(),
		Key: openLinkKey(o.folder, h.log), Find: findLink, Pause: linkPause, Now: clock, Log: h.log})
	if err != nil {
		h.close()
		return err
	}
	defer h.uplinks.Close()
	handler, err := api.New(api.Config{Store: h.store, Logs: h.logs, Auth: h.auth,
		Now: clock, Log: h.log, Program: programName(), Site: h.site(), Names: h.names(), Seat: h.seat, LinkKey: linkKey(key), Draw: qr.SVG,
		Uplinks: h.uplinks.States, Backups: h.backups(), Removals: removalsOf(h.folder), State: h.state, AsOf: h.asOf()})
	if err != nil {
		h.close()
		return err
	}
	return h.run(ctx, handler)
}

// names are those by which the server may be called.
func (h *host) names() (names []string) {
	if h.listen == "" {
		names = append(names, h.origin.Host())
	}
	if h.pair != nil {
		names = append(names, h.pair.Leaf.DNSNames...)
	}
	return names
}

// linkKey follows from the key of tokens, which no backup holds: with it links become void.
func linkKey(key ed25519.PrivateKey) []byte {
	sum := sha256.Sum256(append([]byte("links "), key.Seed()...))
	return sum[:]
}

// backups are those of this server, or none.
func (h *host) backups() api.Backups {
	if h.keep == nil {
		return nil
	}
	return h.keep
}

// state is what readyz says: backups that fail, a name that is not found, and a disk that failed.
func (h *host) state() api.State {
	s := api.State{Warnings: append(h.warnings(), h.nameWarnings()...), Err: h.store.Writable(), Degraded: h.full()}
	if asOf := h.asOf(); asOf != nil && !asOf().IsZero() {
		s.Degraded = true
	}
	if h.authority != nil {
		if trouble := h.authority.Trouble(time.Now()); trouble != "" {
			s.Warnings = append(s.Warnings, trouble)
		}
	}
	return s
}

// warnings are those of the data's safety, and of links.
func (h *host) warnings() []string {
	return append(h.dataWarnings(), linkWarnings(h.uplinks.States())...)
}

func (h *host) dataWarnings() []string {
	list := h.keep.Warnings()
	if away, ok := h.store.(remoteStore); ok {
		return append(list, away.Warnings()...)
	}
	if h.full() {
		list = append(list, "the disk of the data is full: what devices push is answered later, and is not stored; "+
			"changes are refused, reading goes on. Make room; nothing need be started again, and devices bring what waits")
	}
	return list
}

func (h *host) full() bool { return h.store.Full() || errors.Is(h.console.silent(), syscall.ENOSPC) }

// openConsole lets other commands find this server. What keeps its file from being
// written, such as a full disk, keeps nobody from reading.
func (h *host) openConsole() (err error) {
	h.console, err = openConsole(h.folder, tasksOf(h, books{h.store, h.logs, h.auth}))
	if err != nil {
		return err
	}
	if silent := h.console.silent(); silent != nil {
		h.log.Warn("other commands, such as evenwhite pair, cannot find this server yet: a file could not be written in its folder",
			"file", consoleName, "error", silent, "advice", "make room on the disk; it is tried again by itself")
	}
	return nil
}

// run says where the server listens, and serves until ctx ends.
func (h *host) run(ctx context.Context, handler http.Handler) error {
	if err := h.openConsole(); err != nil {
		h.close()
		return err
	}
	defer h.console.stop()
	defer h.keep.start(ctx)()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var servers []*http.Server
	failed := make(chan error, 2) // one for each doorway
	for _, d := range h.doorways(handler) {
		server := h.serverFor(ctx, d)
		servers = append(servers, server)
		go func() { failed <- d.serve(server) }()
	}
	if h.listen == "" {
		go h.watchNetwork(ctx)
	}
	if err := h.welcome(); err != nil {
		return errors.Join(err, shutDown(servers))
	}
	select {
	case err := <-failed:
		cancel()
		return errors.Join(err, shutDown(servers))
	case <-ctx.Done():
		fmt.Fprintln(h.t.Out, "Stopping.")
		return shutDown(servers)
	}
}

// shutDown lets all servers answer what they have begun to, within one time.
func shutDown(servers []*http.Server) (err error) {
	ctx, cancel := context.WithTimeout(context.Background(), shutdownTime)
	defer cancel()
	for _, server := range servers {
		if cut := server.Shutdown(ctx); cut != nil {
			err = errors.Join(err, fmt.Errorf("some requests were cut off: %w", cut), server.Close())
		}
	}
	return err
}
