package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"

	"evenwhite/server/command"
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

    --store ADDRESS    a studio's store instead of the folder (etcd://HOST:PORT,...),
                       for a program that make studio built: evenwhite help copy.
                       The folder then has what belongs to this process alone

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

type serveOptions struct {
	folder, listen, cert, key string
	store                     storeAddress // with a url: not the folder
	name                      string       // "": as the data have it
	port, deskPort            int          // port -1: likewise
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
	storeOptions(fs, &o.store)
	fs.StringVar(&o.store.url, "store", "", "")
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if (o.cert == "") != (o.key == "") {
		return command.Misuse("serve", "--tls-cert and --tls-key belong together")
	}
	if alone := o.store.alone(); alone != "" {
		return command.Misuse("serve", "%s", alone)
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
