package pairing

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"evenwhite/logbook"
)

// A Register is the list of who was paired and who was revoked, as a file that only
// grows: beside the data and beside the backups, so that an older state of the data lets
// nobody in again who is out. Each line is the first 16 digits of the SHA-256 of what
// follows, a space, and a Note as JSON. A line that is damaged is passed over.
//
// It lets nobody in: it holds no secret, and whoever restores a backup trusts the backup.
type Register struct {
	path string
	log  *slog.Logger

	mu    sync.Mutex
	notes []Note
	also  []string // folders that get every note as well, where they can be reached
}

// RegisterName is the file's name, wherever it lies.
const RegisterName = "register.txt"

// A Note is one line of a register.
type Note struct {
	Server logbook.ID `json:"server"` // whose device it is: a card may serve several
	Device logbook.ID `json:"device"`
	Label  string     `json:"label"`
	What   string     `json:"what"`
	// Production is where the role is given or withdrawn, or Everywhere; "" where the
	// device is out for good.
	Production string    `json:"production,omitempty"`
	Role       Role      `json:"role,omitempty"`
	At         time.Time `json:"at"`
}

// What became of a device.
const (
	NotePaired    = "paired"    // it was given a role
	NoteWithdrawn = "withdrawn" // a role was taken away
	NoteRevoked   = "revoked"   // it is out, for good
)

func (n *Note) line() []byte {
	n.At = n.At.UTC()
	b, err := json.Marshal(n)
	if err != nil {
		panic(err) // it has nothing that cannot be written
	}
	sum := sha256.Sum256(b)
	return slices.Concat([]byte(hex.EncodeToString(sum[:8])), []byte(" "), b, []byte("\n"))
}

// ReadRegister reads the notes of a file, in the order of their times, and counts the
// lines that are damaged. A file that is not there is an error of os.
func ReadRegister(path string) (notes []Note, damaged int, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	lines := bufio.NewReader(f)
	for {
		line, err := lines.ReadBytes('\n')
		if n, ok := readNote(line); ok {
			notes = append(notes, n)
		} else if len(bytes.TrimSpace(line)) > 0 {
			damaged++
		}
		if errors.Is(err, io.EOF) {
			slices.SortStableFunc(notes, func(a, b Note) int { return a.At.Compare(b.At) })
			return notes, damaged, nil
		}
		if err != nil {
			return nil, 0, err
		}
	}
}

func readNote(line []byte) (n Note, ok bool) {
	sum, text, found := bytes.Cut(bytes.TrimSuffix(line, []byte("\n")), []byte(" "))
	want := sha256.Sum256(text)
	if !found || string(sum) != hex.EncodeToString(want[:8]) || json.Unmarshal(text, &n) != nil {
		return Note{}, false
	}
	return n, true
}

// OpenRegister opens the register of a folder, or begins one.
func OpenRegister(folder string, log *slog.Logger) (*Register, error) {
	r := &Register{path: filepath.Join(folder, RegisterName), log: log}
	notes, damaged, err := ReadRegister(r.path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	if damaged > 0 {
		log.Warn("lines of the register are damaged and passed over", "file", r.path, "lines", damaged)
	}
	r.notes = notes
	return r, nil
}

// KeepAlso names folders that get every note, too.
func (r *Register) KeepAlso(folders ...string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.also = append(r.also, folders...)
}

// Add appends notes, durably, here and where else they are kept.
func (r *Register) Add(notes ...Note) error {
	if len(notes) == 0 {
		return nil
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	err := appendNotes(r.path, notes)
	r.notes = append(r.notes, notes...)
	for _, folder := range r.also {
		if failed := r.copyTo(folder); failed != nil {
			r.log.Warn("the register could not be written beside the backups: the next backup tries again", "folder", folder, "error", failed)
		}
	}
	return err
}

// AddMissing appends those notes that are not there yet.
func (r *Register) AddMissing(notes []Note) error { return r.Add(MissingNotes(notes, r.notes)...) }

// CopyTo brings the register of another folder up to this one.
func (r *Register) CopyTo(folder string) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.copyTo(folder)
}

func (r *Register) copyTo(folder string) error {
	path := filepath.Join(folder, RegisterName)
	there, _, err := ReadRegister(path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return appendNotes(path, MissingNotes(r.notes, there))
}

// MissingNotes are those of some notes that are not among others.
func MissingNotes(of, in []Note) (missing []Note) {
	held := map[string]bool{}
	for _, n := range in {
		held[string(n.line())] = true
	}
	for _, n := range of {
		if !held[string(n.line())] {
			missing = append(missing, n)
		}
	}
	return missing
}

// appendNotes appends to a file and waits until the disk has it. A line that a crash cut
// off is ended first.
func appendNotes(path string, notes []Note) (err error) {
	if len(notes) == 0 {
		return nil
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	var out []byte
	if info, err := f.Stat(); err != nil {
		return err
	} else if last := make([]byte, 1); info.Size() > 0 {
		if _, err := f.ReadAt(last, info.Size()-1); err != nil {
			return err
		}
		if last[0] != '\n' {
			out = append(out, '\n')
		}
	}
	for _, n := range notes {
		out = append(out, n.line()...)
	}
	if _, err := f.Write(out); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	_ = folder.Sync() // not every card can
	return folder.Close()
}

// changes are the notes on what became of a device; was is zero for a new one.
func changes(server logbook.ID, was, is Device, now time.Time) (notes []Note) {
	note := func(what, production string, at time.Time) {
		notes = append(notes, Note{server, is.ID, is.Label, what, production, is.Grants[production], at.UTC()})
	}
	paired := now
	if was.ID.IsZero() && !is.PairedAt.IsZero() {
		paired = is.PairedAt
	}
	for _, production := range is.Productions() {
		if was.Grants[production] != is.Grants[production] {
			note(NotePaired, production, paired)
		}
	}
	for _, production := range was.Productions() {
		if is.Grants[production] == "" {
			note(NoteWithdrawn, production, now)
		}
	}
	if was.RevokedAt.IsZero() && !is.RevokedAt.IsZero() {
		note(NoteRevoked, "", is.RevokedAt)
	}
	return notes
}

// Apply makes of a device what a register knows of it: out for good, or without roles
// that were withdrawn last. It gives nothing.
func Apply(server logbook.ID, d Device, notes []Note) Device {
	last := map[string]string{}
	for _, n := range notes {
		if n.Server != server || n.Device != d.ID {
			continue
		}
		if last[n.Production] = n.What; n.What == NoteRevoked && d.RevokedAt.IsZero() {
			d.RevokedAt = n.At
		}
	}
	left := Grants{}
	for production, role := range d.Grants {
		if last[production] != NoteWithdrawn {
			left[production] = role
		}
	}
	if len(left) == 0 && d.RevokedAt.IsZero() {
		d.RevokedAt = latest(notes)
		return d
	}
	if d.RevokedAt.IsZero() {
		d.Grants = left
	}
	return d
}

func latest(notes []Note) (at time.Time) {
	for _, n := range notes {
		if n.At.After(at) {
			at = n.At
		}
	}
	return at
}

// follow makes of the devices what the register knows, and notes there what it does not
// know of them. A register that cannot be written keeps nobody from working.
func (a *Auth) follow() error {
	if a.register == nil {
		return nil
	}
	known := map[logbook.ID][]Note{}
	for _, n := range a.register.notes {
		known[n.Device] = append(known[n.Device], n)
	}
	var missing []Note
	for _, d := range a.devices {
		is := Apply(a.own, d, known[d.ID])
		if len(is.Grants) != len(d.Grants) || is.RevokedAt != d.RevokedAt {
			a.log.Warn("the register says that a device is out, and the data did not: it is out", "device", d.ID.String(), "label", d.Label)
			if err := a.keepDevice(is); err != nil {
				return err
			}
		}
		if len(known[d.ID]) == 0 {
			missing = append(missing, changes(a.own, Device{}, is, d.PairedAt)...)
		}
	}
	slices.SortFunc(missing, func(x, y Note) int { return x.At.Compare(y.At) })
	if err := a.register.Add(missing...); err != nil {
		a.log.Error("the register of devices cannot be written", "error", err)
	}
	return nil
}

// DevicesIn reads whose devices the kept values of a store are, and which.
func DevicesIn(values []logbook.KeptValue) (server logbook.ID, devices []Device, err error) {
	for _, v := range values {
		switch {
		case v.Name == keptOwn:
			copy(server[:], v.Value)
		case strings.HasPrefix(v.Name, keptDevice):
			d, err := readDevice(v.Value)
			if err != nil {
				return server, nil, fmt.Errorf("the kept value %s: %w", v.Name, err)
			}
			devices = append(devices, d)
		}
	}
	slices.SortFunc(devices, byPairing)
	return server, devices, nil
}
