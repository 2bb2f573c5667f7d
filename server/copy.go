package main

import (
	"errors"
	"flag"
	"fmt"
	"strings"

	"evenwhite/logbook"
	"evenwhite/server/command"
)

const copyManual = `NAME
    evenwhite copy - copy all data from one store into another

SYNOPSIS
    evenwhite copy --from STORE --to STORE [--prefix NAME]
                   [--store-ca FILE] [--store-cert FILE --store-key FILE]
                   [--store-user NAME --store-password FILE]

DESCRIPTION
    A store is a data folder, or the etcd of a studio: etcd://HOST:PORT,HOST:PORT,...
    with all its members. Copies every production with all edits in their order,
    what was kept aside, devices with their roles, and the server's own values into
    a store that is empty, and compares both. Invitations, which live for minutes,
    stay behind. A folder must be at rest; etcd may be in use, and what is logged
    meanwhile stays there alone.

    No copy holds keys: copy the folder keys as well, or each phone installs a new
    root certificate once.

    etcd is for a program that make studio built. The same options go with
    evenwhite serve --store:

OPTIONS
    --from STORE           what is copied
    --to STORE             an empty one
    --prefix NAME          how a studio's names begin in etcd (default evenwhite)
    --store-ca FILE        certificates, in PEM, by which the members' are checked;
                           with it or a certificate they are spoken to by TLS
    --store-cert FILE      this program's certificate, for etcd, in PEM
    --store-key FILE       its private key
    --store-user NAME      user of etcd
    --store-password FILE  a file with the password

    The certificate is read at each connection, so that one which was renewed in its
    files counts without a new start; the authority and the password at the start.
    The user needs a role in etcd that may read and write all keys under the prefix:
    etcdctl role grant-permission ROLE readwrite NAME/ --prefix=true

EXIT STATUS
    0  everything is copied, and both hold the same
    1  it is not: remove what is there by then, and copy again
    2  the command line was not understood
    3  the data is damaged
    4  another process is using a folder

EXAMPLES
    evenwhite copy --from ./evenwhite-data --to etcd://10.0.0.1:2379,10.0.0.2:2379,10.0.0.3:2379
`

// storeOptions adds to a command's options how a store beyond this machine is entered.
func storeOptions(fs *flag.FlagSet, a *storeAddress) {
	fs.StringVar(&a.prefix, "prefix", "evenwhite", "")
	fs.StringVar(&a.ca, "store-ca", "", "")
	fs.StringVar(&a.cert, "store-cert", "", "")
	fs.StringVar(&a.key, "store-key", "", "")
	fs.StringVar(&a.user, "store-user", "", "")
	fs.StringVar(&a.passwordFile, "store-password", "", "")
}

func copyStore(t command.Terminal, args []string) error {
	var a storeAddress
	fs := command.Bare("copy")
	from, to := fs.String("from", "", ""), fs.String("to", "", "")
	storeOptions(fs, &a)
	if err := command.Parse(fs, args); err != nil {
		return err
	}
	if *from == "" || *to == "" {
		return command.Misuse("copy", "--from and --to are needed")
	}
	if alone := a.alone(); alone != "" {
		return command.Misuse("copy", "%s", alone)
	}
	source, err := a.openNamed(*from, false)
	if err != nil {
		return err
	}
	defer source.Close()
	target, err := a.openNamed(*to, true)
	if err != nil {
		return err
	}
	defer target.Close()
	n, err := logbook.Copy(source, target)
	if errors.Is(err, logbook.ErrNotEmpty) {
		return command.Fail(err, "nothing was copied: name another folder or prefix")
	}
	if err == nil {
		err = sameLogs(source, target)
	}
	if err != nil {
		return storeFailure(err)
	}
	_, err = fmt.Fprintf(t.Out, "Copied and compared. Productions: %d; edits: %d; kept aside: %d; devices and other values: %d.\n",
		n.Productions, n.Edits, n.Clashes+n.Asides, n.Values)
	return err
}

// openNamed opens a store by its name.
func (a storeAddress) openNamed(name string, anew bool) (logbook.Store, error) {
	if a.url = name; strings.Contains(name, "://") {
		return a.open()
	}
	if !anew {
		if err := needData(name); err != nil {
			return nil, err
		}
	} else if err := makeFolder(name); err != nil {
		return nil, err
	}
	return openStore(name)
}

// sameLogs is an error unless a copy has all that was in the first store.
func sameLogs(source, target logbook.Store) error {
	ids, err := target.Productions()
	if err != nil {
		return err
	}
	for _, id := range ids {
		was, err := source.Ranges(id)
		if err != nil {
			return err
		}
		is, err := target.Ranges(id)
		if err != nil {
			return err
		}
		at, err := target.Head(id)
		if err != nil {
			return err
		}
		chain, _, err := source.ChainAt(id, at.Seq)
		if err != nil {
			return err
		}
		damaged, err := source.Damaged(id)
		if err != nil {
			return err
		}
		if !logbook.HeldOf(was).Covers(logbook.HeldOf(is)) || chain != at.Chain && len(damaged) == 0 {
			return fmt.Errorf("%w: of production %s the copy holds something else", logbook.ErrDamaged, id)
		}
	}
	return nil
}
