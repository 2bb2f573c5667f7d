package removal

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/states"
)

// Errors of a removal, after which nothing was removed. They wrap no others.
var (
	// ErrUnready is wrapped where a person has to do something first.
	ErrUnready = errors.New("the production cannot be removed yet")
	// ErrOther is wrapped where the caller does not hold what would be removed.
	ErrOther = errors.New("what you hold is not what the log gives now: nothing was removed")
	// ErrNotRemoved is wrapped where a production is to be taken in again that was not removed.
	ErrNotRemoved = errors.New("the production was not removed from this server")
)

// An Order is how a production is to be removed.
type Order struct {
	Into    string // the folder in which the folder of its files is made
	Program string // as colour logs say it
	By      string // the label of the device that asks
	Now     time.Time
	Held    *Held // what the caller has copies of; nil where it gets the files
}

// Held are the SHA-256 digests of files that a caller has, in hexadecimal digits.
type Held struct{ Bundle, ColorLog string }

// The names of the files.
const (
	bundleName   = "edits.bundle"
	csvName      = "color-log.csv"
	jsonName     = "color-log.json"
	clashesName  = "clashes.bundle"    // edits whose dot is held with other bytes
	asideName    = "left-aside.bundle" // edits of the settings that an owner left aside
	folderPrefix = "evenwhite-"
)

// garbage is how many bytes of it may lie beside the book, however large that is.
const garbage = 32 << 20

// Take writes the files of a production, reads them back, and removes it from its store, in one
// commit that leaves the mark. Where it returns an error nothing was removed, unless that
// wraps logbook.ErrBroken: then only the next start knows.
func Take(l *exchange.Peer, o Order) (m Mark, err error) {
	defer logbook.Spare(garbage)()
	if err := ready(l); err != nil {
		return m, err
	}
	leaving, err := see(l)
	if err != nil {
		return m, err
	}
	defer leaving.book.Close()
	out, err := newFiles(o.Into)
	if err != nil {
		return m, err
	}
	defer func() {
		if err != nil && !errors.Is(err, logbook.ErrBroken) {
			err = errors.Join(err, out.discard())
		}
	}()
	if err := leaving.write(out, o.Program); err != nil {
		return m, err
	}
	if err := o.Held.among(out.written); err != nil {
		return m, err
	}
	m = leaving.mark(o, out.written)
	if err := out.name(m.Folder); err != nil {
		return m, err
	}
	b, err := json.Marshal(m)
	if err != nil {
		return m, err
	}
	return m, l.Remove(leaving.book.Head(), leaving.same, b)
}

// ready is an error where something of the production would be lost.
func ready(l *exchange.Peer) error {
	if n := l.Waiting(); n > 0 {
		return fmt.Errorf("%w: %d edits of its settings wait for an owner's answer: GET and POST /v1/productions/%s/aside",
			ErrUnready, n, l.Production())
	}
	damaged, err := l.Damaged()
	if err != nil {
		return err
	}
	if len(damaged) > 0 {
		return fmt.Errorf("%w: %d of its edits are damaged on the disk, and in no bundle: let every device exchange first; "+
			"evenwhite missing lists them", ErrUnready, len(damaged))
	}
	return nil
}

// leaving is a production as it is at the moment from which on nothing may come in.
type leaving struct {
	log     *exchange.Peer
	book    *logbook.Frozen
	edits   exchange.Stretch
	end     exchange.BundleEnd
	clashes []logbook.Entry
	asides  []logbook.Aside
}

func see(l *exchange.Peer) (see *leaving, err error) {
	see = &leaving{log: l}
	if see.clashes, err = l.Clashes(); err != nil {
		return nil, err
	}
	if see.asides, err = l.Asides(); err != nil {
		return nil, err
	}
	if see.edits, err = l.Since(""); err != nil {
		return nil, err
	}
	if see.book, err = l.Freeze(); err != nil {
		return nil, err
	}
	if see.book.Head() != see.edits.Head() {
		see.book.Close()
		return nil, logbook.ErrWentOn
	}
	return see, nil
}

// same is an error unless all that no head tells of is as it was seen.
func (g *leaving) same() error {
	if err := ready(g.log); err != nil {
		return err
	}
	clashes, err := g.log.Clashes()
	if err != nil {
		return err
	}
	asides, err := g.log.Asides()
	if err == nil && (!reflect.DeepEqual(clashes, g.clashes) || !reflect.DeepEqual(asides, g.asides)) {
		err = logbook.ErrWentOn
	}
	return err
}

func (g *leaving) write(out *files, program string) error {
	bundle := func(to io.Writer) (err error) {
		g.end, err = g.edits.WriteBundle(to)
		return err
	}
	same := func(from io.Reader) error { return exchange.SameBundle(from, g.log.Production(), g.end) }
	if err := out.add(bundleName, bundle, same); err != nil {
		return err
	}
	if err := g.colorLog(out, program); err != nil {
		return err
	}
	if err := g.others(out, clashesName, g.clashes); err != nil {
		return err
	}
	left := make([]logbook.Entry, len(g.asides))
	for i, row := range g.asides {
		left[i] = row.Entry
	}
	return g.others(out, asideName, left)
}

// colorLog writes both forms in one walk of the rows.
func (g *leaving) colorLog(out *files, program string) error {
	var digests states.Digests
	state, err := digests.At(g.log.Page, g.log.Production(), g.book.Head())
	if err != nil {
		return err
	}
	var top colorlog.Head
	g.book.Read(func(b *logbook.Book) {
		top = colorlog.HeadOf(b, colorlog.Scope{}, colorlog.Origin{Program: program, State: state})
	})
	top.HowRight = colorlog.HowRight(g.book, colorlog.Scope{}, logbook.Ever)
	table, err := out.begin(csvName)
	if err != nil {
		return err
	}
	document, err := out.begin(jsonName)
	if err != nil {
		return errors.Join(err, table.to.Close())
	}
	failed := colorlog.WriteBoth(table, document, top, colorlog.Rows(g.book, colorlog.Scope{}))
	err = out.end(table, failed, anyBytes)
	if other := out.end(document, failed, wholeDocument); err == nil {
		err = other
	}
	return err
}

// others writes edits that are not in the log, where there are some.
func (g *leaving) others(out *files, name string, entries []logbook.Entry) error {
	if len(entries) == 0 {
		return nil
	}
	edits := make([]*logbook.Edit, len(entries))
	for i := range entries {
		var err error
		if edits[i], err = logbook.DecodeEdit(entries[i].Bytes); err != nil {
			return fmt.Errorf("%w: this version cannot read edit %s, which was kept aside: use a newer one (%v)",
				ErrUnready, entries[i].Dot, err)
		}
	}
	write := func(to io.Writer) error { return exchange.WriteBundle(to, g.log.Production(), edits) }
	return out.add(name, write, func(from io.Reader) error {
		n := 0
		err := exchange.ReadBundle(from, g.log.Production(), func(e *logbook.Edit) error {
			b, err := logbook.EncodeEdit(e)
			if err == nil && (n == len(entries) || logbook.HashOf(b) != entries[n].Hash) {
				err = fmt.Errorf("%w: its edit %d is another", logbook.ErrDamaged, n+1)
			}
			n++
			return err
		})
		if err == nil && n < len(entries) {
			err = fmt.Errorf("%w: it ends at edit %d", logbook.ErrDamaged, n)
		}
		return err
	})
}

func (g *leaving) mark(o Order, written []File) Mark {
	head := g.book.Head()
	m := Mark{Production: g.log.Production(), RemovedAt: o.Now.UTC().Truncate(time.Millisecond), By: o.By,
		Edits: g.end.Edits, Log: fmt.Sprintf("%x", head.Chain[:]), Files: written}
	g.book.Read(func(b *logbook.Book) {
		if v, ok := b.RecordOf(kinds.Production, m.Production); ok {
			m.Title = v.Text("title")
		}
	})
	m.Folder = folderPrefix + m.Production.String() + "-" + m.RemovedAt.Format("2006-01-02T150405Z")
	return m
}

// among is an error unless the digests are those of the files that were written. The colour
// log may be in either form.
func (h *Held) among(written []File) error {
	if h == nil {
		return nil
	}
	of := map[string]string{}
	for _, f := range written {
		of[f.Name] = f.SHA256
	}
	again := "something came in since, or the download was cut off: download both again"
	if of[bundleName] != h.Bundle {
		return fmt.Errorf("%w: the bundle has the SHA-256 %s by now, yours %s; %s", ErrOther, of[bundleName], h.Bundle, again)
	}
	if of[csvName] != h.ColorLog && of[jsonName] != h.ColorLog {
		return fmt.Errorf("%w: the colour log has the SHA-256 %s as CSV and %s as JSON, yours %s; %s",
			ErrOther, of[csvName], of[jsonName], h.ColorLog, again)
	}
	return nil
}
