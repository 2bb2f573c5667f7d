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
	"strings"
	"syscall"
	"time"

	"evenwhite/api"
	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
	"evenwhite/server/desk"
	"evenwhite/server/lan"
	"evenwhite/server/lan/authority"
	"evenwhite/server/lan/name"
)

const serveManual = `NAME
    evenwhite serve - run the server

SYNOPSIS
    evenwhite serve [--data FOLDER] [--name NAME] [--port N] [--desk-port N]
                    [--rename] [--no-mdns] [--keys FILE [--passphrase FILE]]
                    [--tls-cert FILE --tls-key FILE]
                    [--listen ADDRESS] [--demo]
                    [--backup-every TIME] [--backup-to FOLDER]

DESCRIPTION
    Serves the contract (GET /openapi.yaml) until it is interrupted. At the first
    start it makes the data folder, which only its owner can enter, and prints an
    invitation for the owner: a code of eight letters that lets one device in,
    once, for five minutes. evenwhite pair makes further ones.

    Phones reach it by HTTPS under one origin, such as https://set7.local:8443. The
    name and port of the first start are kept with the data and in backups,
    because browsers keep what they have not sent yet by them. Its certificates are
    its own: a phone installs the root once. Root and issuing certificate hold for
    this name and for private addresses alone; the certificate that is shown holds
    90 days, and is made anew, while it runs, before it ends and whenever the
    addresses of this machine change. What signs it lies in the folder keys
    (evenwhite help keys).

    It tells its name on every interface that is up, by multicast DNS; no name server
    is needed. Before it starts it asks whether another device has the name, for up
    to a second; if so it does not start, and proposes another. evenwhite doctor
    says what keeps phones from finding it.

    Plain HTTP is for this machine, at http://127.0.0.1:8480. Whoever asks there from
    elsewhere is shown how to trust the server, with the root certificate, and
    nothing of the data. The QR code of the first start leads there.

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
    --name NAME        name on the network, without .local (at the first start
                       evenwhite, then as the data have it): 1 to 63 of the
                       letters a to z, digits and hyphens
    --port N           port for HTTPS (at the first start 8443, then as the data
                       have it; 0: as the data have it, at the first start a free
                       one)
    --desk-port N      port for plain HTTP (default 8480; 0: a free one)
    --rename           take another name or port than the data have; lists the
                       paired devices, which do not find what they have not sent
                       until the old name and port are back. Another name needs
                       another root: each phone installs it and pairs anew
    --no-mdns          tell the name to nobody: a name server, or another program
                       here, does
    --keys FILE        go on with the name, root and keys that evenwhite keys --save
                       sealed in FILE; asks for the passphrase. The data must have
                       no root yet, as after evenwhite restore
    --passphrase FILE  a file with the passphrase, where nobody is to be asked
    --tls-cert FILE    certificate chain in PEM from elsewhere, instead of its own;
                       the origin is --name, or the first name in it. Clients
                       must trust it: curl --cacert FILE
    --tls-key FILE     the certificate's private key in PEM
    --listen ADDRESS   serve at this host and port and nowhere else, as scripts want
                       it: plain HTTP, or HTTPS with --tls-cert; port 0 takes a
                       free one
    --backup-every TIME  time between backups, such as 30m (default 1h); 0: none
    --backup-to FOLDER   second folder for backups; it must be there, best on
                         another disk, and no other server's: each removes
                         old backups whosever they are
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
    evenwhite serve --name set7
    evenwhite serve --data /srv/evenwhite --name set.example.org \
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
	name                      string // "": as the data have it
	port, deskPort            int    // port -1: likewise
	rename, noMDNS            bool
	keysFile, passphrase      string // "": none; asked for
	demo                      bool
	backupEvery               time.Duration // 0: none
	backupTo                  string        // "": no second folder
}

func serve(t command.Terminal, args []string) error {
	var o serveOptions
	fs, folder := command.Options("serve")
	fs.StringVar(&o.name, "name", "", "")
	fs.IntVar(&o.port, "port", -1, "")
	fs.IntVar(&o.deskPort, "desk-port", usualDeskPort, "")
	fs.BoolVar(&o.rename, "rename", false, "")
	fs.BoolVar(&o.noMDNS, "no-mdns", false, "")
	fs.StringVar(&o.keysFile, "keys", "", "")
	fs.StringVar(&o.passphrase, "passphrase", "", "")
	fs.StringVar(&o.listen, "listen", "", "")
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
	if err := o.checkNames(); err != nil {
		return err
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

// serveUntil runs the server until ctx ends.
func serveUntil(ctx context.Context, t command.Terminal, o serveOptions) (err error) {
	h := &host{serveOptions: o, t: t, log: slog.New(slog.NewTextHandler(t.Err, nil)), seats: desk.NewSeats(time.Now)}
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
	key, err := openKey(o.folder, h.log)
	if err != nil {
		return err
	}
	if h.auth, err = pairing.OpenAuth(pairing.Config{Keep: h.store, Key: key, Register: h.register, Now: time.Now, Log: h.log}); err != nil {
		return err
	}
	h.logs = api.NewLogs(h.store)
	if err := h.open(ctx); err != nil {
		return err
	}
	defer h.closeName()
	handler, err := api.New(api.Config{Store: h.store, Logs: h.logs, Auth: h.auth,
		Now: time.Now, Log: h.log, Program: programName(), Site: h.site(), Names: h.names(), Seat: h.seat,
		Backups: h.backups(), Removals: removalsOf(h.folder), State: h.state})
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
	if h.authority != nil {
		if trouble := h.authority.Trouble(time.Now()); trouble != "" {
			s.Warnings = append(s.Warnings, trouble)
		}
	}
	return s
}

// warnings are those of the data's safety.
func (h *host) warnings() []string {
	list := h.keep.Warnings()
	if h.full() {
		list = append(list, "the disk of the data is full: what devices push is answered later, and is not stored; "+
			"changes are refused, reading goes on. Make room; nothing need be started again, and devices bring what waits")
	}
	return list
}

func (h *host) full() bool { return h.store.Full() || errors.Is(h.console.silent(), syscall.ENOSPC) }

// openConsole lets other commands find this server. What keeps its file from being
// written, such as a full disk, keeps nobody from reading.
func (h *host) openConsole(a address) (err error) {
	h.console, err = openConsole(h.folder, tasksOf(h, books{h.store, h.logs, h.auth}, a))
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
	if err := h.openConsole(h.at); err != nil {
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

// openStore opens the database of a data folder for this process alone.
func openStore(folder string) (*bolt.Store, error) {
	store, err := bolt.Open(databaseOf(folder))
	if errors.Is(err, logbook.ErrDamaged) {
		return nil, command.FailAs(command.ExitDamaged, err, "nothing was changed. "+wayBack(folder))
	}
	if errors.Is(err, bolt.ErrInUse) {
		var who strings.Builder
		if callConsole(folder, "who", nil, &who) == nil {
			return nil, command.FailAs(command.ExitInUse, fmt.Errorf("%w: %s", err, &who), "stop that process, or name another folder with --data")
		}
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
