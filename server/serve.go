package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"syscall"
	"time"

	"evenwhite/api"
	"evenwhite/api/pairing"
	"evenwhite/api/quota"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

const serveManual = `NAME
    evenwhite serve - run the server

SYNOPSIS
    evenwhite serve [--data FOLDER] [--listen ADDRESS]
                    [--tls-cert FILE --tls-key FILE] [--demo]
                    [--backup-every TIME] [--backup-to FOLDER]

DESCRIPTION
    Serves the contract (GET /openapi.yaml) over HTTP until it is interrupted. At
    the first start it makes the data folder, which only its owner can enter, and
    prints an invitation for the owner: a code of eight letters that lets one
    device in, once, for five minutes. evenwhite pair makes further ones.

    It backs the data up by itself, into the folder backups within the data folder
    and, where --backup-to names one, into a second folder, such as a memory card.
    Each backup is checked after it was written. All of the last two days are kept,
    then the last of each day for thirty days, then the last of each month; and the
    newest 24, whatever the clock says. While nothing changes none is made. A backup
    that fails is told in the log and by GET /readyz; the server goes on, and tries
    again after a minute, then after two, and so on up to the usual time. evenwhite
    help restore says how to go back to one.

    It answers running requests before it stops. Logs go to standard error and
    hold no codes, secrets or tokens.

OPTIONS
    --data FOLDER      where the data lies (default ./evenwhite-data); not on a
                       network file system, and for one process at a time
    --listen ADDRESS   host and port to listen on (default 127.0.0.1:8480: this
                       machine only); port 0 takes a free one
    --backup-every TIME  time between backups, such as 30m (default 1h); 0: none
    --backup-to FOLDER   second folder for backups; it must be there, best on
                         another disk, and no other server's: each removes
                         old backups whosever they are
    --tls-cert FILE    certificate chain in PEM; with --tls-key it serves HTTPS.
                       Clients must trust it: curl --cacert FILE
    --tls-key FILE     the certificate's private key in PEM
    --demo             fill the invented production first; see evenwhite help demo

EXIT STATUS
    0  it was interrupted and has stopped
    1  it could not start, or failed
    2  the command line was not understood
    3  the data is damaged
    4  another process is using the data folder

EXAMPLES
    evenwhite serve --demo
    evenwhite serve --backup-every 30m --backup-to /media/card
    evenwhite serve --data /srv/evenwhite --listen 0.0.0.0:8443 \
        --tls-cert set.pem --tls-key set.key
`

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

type serveOptions struct {
	folder, listen, cert, key string
	demo                      bool
	backupEvery               time.Duration // 0: none
	backupTo                  string        // "": no second folder
}

func serve(t command.Terminal, args []string) error {
	var o serveOptions
	fs, folder := command.Options("serve")
	fs.StringVar(&o.listen, "listen", "127.0.0.1:8480", "")
	fs.StringVar(&o.cert, "tls-cert", "", "")
	fs.StringVar(&o.key, "tls-key", "", "")
	fs.BoolVar(&o.demo, "demo", false, "")
	fs.DurationVar(&o.backupEvery, "backup-every", time.Hour, "")
	fs.StringVar(&o.backupTo, "backup-to", "", "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if (o.cert == "") != (o.key == "") {
		return command.Misuse("serve", "--tls-cert and --tls-key belong together")
	}
	switch {
	case o.backupEvery != 0 && o.backupEvery < time.Second:
		return command.Misuse("serve", "--backup-every is %s; allowed is 0, or a second and more, such as 30m", o.backupEvery)
	case o.backupEvery == 0 && o.backupTo != "":
		return command.Misuse("serve", "--backup-to needs backups: --backup-every is 0")
	}
	o.folder = *folder
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second interrupt ends it at once
	return serveUntil(ctx, t, o)
}

// A host is a server in the making: each step adds what the next one needs.
type host struct {
	serveOptions
	t     command.Terminal
	log   *slog.Logger
	pair  *tls.Certificate // nil without TLS
	store *bolt.Store
	logs  *api.Logs
	auth  *pairing.Auth
	keep  *keeper // of backups; nil where none are wished

	register *pairing.Register // of who was paired and revoked
	console  *console
}

// serveUntil runs the server until ctx ends.
func serveUntil(ctx context.Context, t command.Terminal, o serveOptions) (err error) {
	h := &host{serveOptions: o, t: t, log: slog.New(slog.NewTextHandler(t.Err, nil))}
	if h.pair, err = loadPair(o); err != nil {
		return err
	}
	if err := makeFolder(o.folder); err != nil {
		return err
	}
	if h.store, err = openStore(o.folder); err != nil {
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
		if err := fillDemoIn(h.store, h.t); err != nil {
			return err
		}
	}
	key, err := openKey(o.folder, h.log)
	if err != nil {
		return err
	}
	if h.auth, err = pairing.OpenAuth(pairing.Config{Keep: h.store, Key: key, Register: h.register, Now: time.Now, Log: h.log}); err != nil {
		return err
	}
	h.logs = api.NewLogs(h.store)
	l, err := net.Listen("tcp", h.listen)
	if err != nil {
		return command.Fail(err, "another program may have the port: choose one with --listen, or 127.0.0.1:0 for any")
	}
	a := address{l.Addr().(*net.TCPAddr), h.pair}
	handler, err := api.New(api.Config{Store: h.store, Logs: h.logs, Auth: h.auth,
		Now: time.Now, Log: h.log, Program: programName(), Site: api.Site{Origin: a.url()}, Names: h.names(), State: h.state})
	if err != nil {
		return errors.Join(err, l.Close())
	}
	return h.run(ctx, l, a, handler)
}

// names are those that the server's certificate holds.
func (h *host) names() []string {
	if h.pair == nil {
		return nil
	}
	return h.pair.Leaf.DNSNames
}

// state is what readyz says: backups that fail, and a disk that failed.
func (h *host) state() api.State {
	s := api.State{Warnings: h.keep.warnings(), Err: h.store.Writable()}
	if h.store.Full() || errors.Is(h.console.silent(), syscall.ENOSPC) {
		s.Degraded = true
		s.Warnings = append(s.Warnings, "the disk of the data is full: what devices push is answered later, and is not stored; "+
			"changes are refused, reading goes on. Make room; nothing need be started again, and devices bring what waits")
	}
	return s
}

// openConsole lets other commands find this server. What keeps its file from being
// written, such as a full disk, keeps nobody from reading.
func (h *host) openConsole(a address) (err error) {
	h.console, err = openConsole(h.folder, tasksOf(h, desk{h.store, h.logs, h.auth}, a))
	if err != nil {
		return err
	}
	if silent := h.console.silent(); silent != nil {
		h.log.Warn("other commands, such as evenwhite pair, cannot find this server yet: a file could not be written in its folder",
			"file", consoleName, "error", silent, "advice", "make room on the disk; it is tried again by itself")
	}
	return nil
}

// run says where it listens, and serves until ctx ends.
func (h *host) run(ctx context.Context, l net.Listener, a address, handler http.Handler) error {
	most := connectionsAtMost()
	l = quota.Listen(api.ProblemListener(l), most, most/4)
	if err := h.openConsole(a); err != nil {
		return errors.Join(err, l.Close())
	}
	defer h.console.stop()
	server := &http.Server{
		Handler: handler, ReadHeaderTimeout: headerTime, ReadTimeout: requestTime, IdleTimeout: idleTime,
		BaseContext:    func(net.Listener) context.Context { return ctx }, // ends event streams before the server waits for them
		MaxHeaderBytes: 32 << 10, ErrorLog: slog.NewLogLogger(h.log.Handler(), slog.LevelWarn),
	}
	serve := server.Serve
	if h.pair != nil {
		server.TLSConfig = &tls.Config{Certificates: []tls.Certificate{*h.pair}, MinVersion: tls.VersionTLS12}
		serve = func(l net.Listener) error { return server.ServeTLS(l, "", "") } // which also offers HTTP/2
	}
	defer h.keep.start(ctx)()
	failed := make(chan error, 1)
	go func() { failed <- serve(l) }()
	if err := h.welcome(a); err != nil {
		return errors.Join(err, server.Close())
	}
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
		fmt.Fprintln(h.t.Out, "Stopping.")
		return shutDown(server)
	}
}

func shutDown(server *http.Server) error {
	ctx, cancel := context.WithTimeout(context.Background(), shutdownTime)
	defer cancel()
	if err := server.Shutdown(ctx); err != nil {
		return errors.Join(fmt.Errorf("some requests were cut off: %w", err), server.Close())
	}
	return nil
}

// openStore opens the database of a data folder for this process alone.
func openStore(folder string) (*bolt.Store, error) {
	store, err := bolt.Open(databaseOf(folder))
	if errors.Is(err, logbook.ErrDamaged) {
		return nil, command.FailAs(command.ExitDamaged, err, "nothing was changed. "+wayBack(folder))
	}
	if err != nil {
		return nil, storeFailure(err)
	}
	return store, nil
}

// drawLine draws 8 random bytes.
func drawLine() (l logbook.Line) {
	_, _ = rand.Read(l[:]) // never fails: it ends the program where the system has no chance to give
	return l
}
