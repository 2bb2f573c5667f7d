package doctor

import (
	"fmt"
	"strings"
	"time"

	"evenwhite/server/lan/authority"
)

// refused is what a phone meets whose browser does not take the certificate.
const refused = "its browser refuses the server. What it holds stays there, and is sent once the certificate is right"

func (f Facts) certificate() Finding {
	c := Finding{About: "certificate"}
	switch {
	case f.AuthorityErr != nil:
		c.Saw, c.Phone = fmt.Sprintf("the server's own cannot be read: %v", f.AuthorityErr), "it cannot be called: the server does not start"
		c.Do = "as the server says when it is started"
	case f.Authority != nil && f.Authority.Trouble(f.Now) != "":
		c.Saw, c.Do = f.Authority.Trouble(f.Now), "as it says"
	case f.Authority != nil && f.Authority.Host() != f.Origin.Host():
		c.Saw = fmt.Sprintf("the server's own is for %s, and the data belong to %s", f.Authority.Host(), f.Origin.Host())
		c.Phone, c.Do = "it cannot be called: the server does not start", "as the server says when it is started"
	case f.LeafErr != nil:
		c.Saw, c.Phone = fmt.Sprintf("what the server shows is not good: %v", f.LeafErr), refused
		c.Do = "start the server again; with --tls-cert, give it one for " + f.Origin.Host()
	case f.Leaf != nil && f.Authority == nil && f.Now.After(f.Leaf.NotAfter):
		c.Saw, c.Phone = fmt.Sprintf("the one from elsewhere, of %s, ran out on %s", f.Leaf.Issuer, day(f.Leaf.NotAfter)), refused
		c.Do = "give a new one with --tls-cert"
	case f.Leaf != nil && f.Authority == nil:
		c.Saw = fmt.Sprintf("for %s until %s, by %s", f.Origin.Host(), day(f.Leaf.NotAfter), f.Leaf.Issuer)
		c.Phone = "only it can know whether it trusts them"
	case f.Authority == nil:
		c.Saw = "there is none of the server's own yet; it draws one when it starts, or --tls-cert brings one"
	default:
		c.Saw = fmt.Sprintf("for %s by the server's own root, until %s; fingerprint %s",
			f.Origin.Host(), day(f.Authority.NotAfter()), authority.Grouped(f.Authority.Fingerprint()))
		if f.Leaf != nil {
			c.Saw = fmt.Sprintf("shown until %s, and renewed before; ", day(f.Leaf.NotAfter)) + c.Saw
		}
		c.Phone = "only it can know whether that root is installed: its trust page says so"
	}
	return c
}

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }

func (f Facts) clock() Finding {
	c := Finding{About: "clock", Saw: "it says " + f.Now.UTC().Format("2006-01-02 15:04") + " UTC"}
	var latest Moment
	for _, m := range append(f.Past, Moment{"this program was made", authority.Earliest}) {
		if m.At.After(latest.At) {
			latest = m
		}
	}
	if f.Now.Add(time.Minute).Before(latest.At) {
		c.Saw += fmt.Sprintf(", but %s at %s: it is wrong, or was then", latest.What, latest.At.UTC().Format("2006-01-02 15:04"))
		c.Phone = "it is shown wrong times, and its own are corrected by them; none of its edits is refused for that"
		c.Do = "set the clock, as with: date -s '2031-03-04 09:30'"
	}
	return c
}

func (f Facts) disk() Finding {
	d := Finding{About: "disk"}
	switch {
	case f.Free == 0:
		d.Saw = "how much is free this system does not tell, or nothing is"
	case f.Free < f.Need:
		d.Saw = fmt.Sprintf("%d MB are free; wanted are %d MB, for a day and ten backups", f.Free>>20, f.Need>>20)
		d.Phone = "when the disk is full, what it sends is answered later, and stays with it until then"
		d.Do = "make room, or move old backups away"
	default:
		d.Saw = fmt.Sprintf("%d MB are free", f.Free>>20)
	}
	return d
}

func (f Facts) folder() Finding {
	if len(f.Open) == 0 {
		return Finding{About: "folder", Saw: "nobody but its owner can enter it, or read the keys"}
	}
	return Finding{About: "folder", Saw: "others on this machine can enter or read " + strings.Join(f.Open, ", "),
		Phone: "it notices nothing; whoever has the keys can act as any device",
		Do:    "chmod go= " + strings.Join(f.Open, " ") + "; if somebody may have read them: evenwhite help keys"}
}

// unsaved is how much older than the data a backup may be: they are made each hour.
const unsaved = 2 * time.Hour

func (f Facts) backup() Finding {
	b := Finding{About: "backup"}
	const last = "it holds what it wrote itself; what was changed by REST has no other copy"
	switch {
	case f.Backup.IsZero():
		b.Saw, b.Phone, b.Do = "there is none in the data folder", last, "run evenwhite serve without --backup-every 0, or evenwhite backup FILE"
	case f.Changed.Sub(f.Backup) > unsaved:
		b.Saw = fmt.Sprintf("the newest is of %s, and the data changed at %s", minute(f.Backup), minute(f.Changed))
		b.Phone, b.Do = last, "run evenwhite serve without --backup-every 0, or evenwhite backup FILE"
	default:
		b.Saw = "the newest is of " + minute(f.Backup)
	}
	return b
}

func minute(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") + " UTC" }
