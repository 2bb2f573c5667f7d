package pairing

import (
	"bytes"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

func openRegister(t *testing.T, folder string) *Register {
	t.Helper()
	r, err := OpenRegister(folder, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// registered opens a door whose register lies in a folder.
func registered(t *testing.T, keep Keeper, clock *testClock, folder string) door {
	t.Helper()
	var log bytes.Buffer
	c := Config{Keep: keep, Key: DrawKey(), Register: openRegister(t, folder), Now: clock.now, Log: slog.New(slog.NewTextHandler(&log, nil))}
	a, err := OpenAuth(c)
	if err != nil {
		t.Fatal(err)
	}
	return door{a, keep, clock, &log}
}

// copied is a store with the values that another has now: a backup.
func copied(t *testing.T, from Keeper) Keeper {
	t.Helper()
	values, err := from.KeptUnder("")
	if err != nil {
		t.Fatal(err)
	}
	to := logbook.NewMemory()
	for _, v := range values {
		if err := to.Keep(v.Name, v.Value); err != nil {
			t.Fatal(err)
		}
	}
	return to
}

func TestAnOlderStateOfTheDataLetsNobodyInWhoIsOut(t *testing.T) {
	folder, clock := t.TempDir(), &testClock{at: time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)}
	here, there := drawID(), drawID()
	d := registered(t, logbook.NewMemory(), clock, folder)
	stays, lost := d.before(t, Owner, logbook.ID{}), d.before(t, Editor, here)
	both := newPhone(t, d)
	join := func(role Role, where logbook.ID) {
		t.Helper()
		clock.move(time.Minute)
		if err := both.pair(role, where, Claim{}); err != nil {
			t.Fatal(err)
		}
	}
	join(Editor, here)
	join(Reader, there)
	back := d.before(t, Editor, there)
	backup := copied(t, d.keep)
	clock.move(time.Minute)
	if err := d.Revoke(lost.Device, false); err != nil {
		t.Fatal(err)
	}
	local := Caller{Grants: Grants{here.String(): Owner, there.String(): Reader}}
	if err := d.RevokeWhere(both.Device, local); err != nil {
		t.Fatal(err)
	}
	clock.move(time.Minute)
	late := d.before(t, Reader, here)

	again := registered(t, backup, clock, folder)
	_, err := again.Reissue(lost.Device, lost.Secret, Credentials{})
	wantErr(t, err, ErrRevoked)
	for _, out := range []oldDevice{stays, back} {
		if _, err := again.Reissue(out.Device, out.Secret, Credentials{}); err != nil {
			t.Errorf("a device that nobody revoked: %v", err)
		}
	}
	is, err := again.Standing(both.Device)
	if err != nil || is.Grants[here.String()] != "" || is.Grants[there.String()] != Reader {
		t.Errorf("got %v (%v), want the role that was withdrawn gone and the other kept", is.Grants, err)
	}
	_, err = again.Reissue(late.Device, late.Secret, Credentials{})
	wantErr(t, err, ErrSecret) // a register lets nobody in
	if !strings.Contains(again.log.String(), "the register says that a device is out") {
		t.Errorf("nobody is told: %s", again.log)
	}

	join(Editor, here) // in the newer state: it was given the role once more, and keeps it
	if is, err := registered(t, copied(t, d.keep), clock, folder).Standing(both.Device); err != nil || is.Grants[here.String()] != Editor {
		t.Errorf("got %v (%v), want the role that was given again", is.Grants, err)
	}
	text, err := os.ReadFile(filepath.Join(folder, RegisterName))
	if err != nil || len(text) == 0 {
		t.Fatal(err)
	}
	for _, out := range []oldDevice{stays, lost, late} {
		if bytes.Contains(text, []byte(out.Secret)) || bytes.Contains(text, hashSecret(out.Secret)) {
			t.Error("the register holds a secret")
		}
	}
}

func TestTheRegisterOfAnotherServerSaysNothing(t *testing.T) {
	folder, clock := t.TempDir(), &testClock{at: time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)}
	keep := logbook.NewMemory()
	d := registered(t, keep, clock, t.TempDir())
	out := d.before(t, Reader, logbook.ID{})
	if err := openRegister(t, folder).Add(Note{Server: drawID(), Device: out.Device, What: NoteRevoked, At: clock.now()}); err != nil {
		t.Fatal(err)
	}
	if _, err := registered(t, keep, clock, folder).Reissue(out.Device, out.Secret, Credentials{}); err != nil {
		t.Error(err)
	}
}

func TestARegisterGrowsAndPassesOverDamage(t *testing.T) {
	folder, card := t.TempDir(), t.TempDir()
	r := openRegister(t, folder)
	at := time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)
	note := func(minute int, what string) Note {
		later := at.Add(time.Duration(minute) * time.Minute)
		return Note{Server: logbook.ID{1}, Device: logbook.ID{byte(minute)}, Label: "phone", What: what, At: later}
	}
	for minute := 1; minute <= 3; minute++ {
		if err := r.Add(note(minute, NoteRevoked)); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(folder, RegisterName)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(text) { // where a crash cuts it off, what stood before stays, and the next line is whole
		if err := os.WriteFile(path, text[:cut], 0o600); err != nil {
			t.Fatal(err)
		}
		if err := openRegister(t, folder).Add(note(9, NoteRevoked)); err != nil {
			t.Fatal(err)
		}
		notes, damaged, err := ReadRegister(path)
		whole := bytes.Count(text[:cut], []byte("\n"))
		if len(notes) < whole+1 || notes[len(notes)-1].Device != (logbook.ID{9}) || damaged > 1 || err != nil {
			t.Fatalf("cut at %d of %d: %d notes, %d damaged (%v), want %d and the next one", cut, len(text), len(notes), damaged, err, whole)
		}
	}
	flipped := bytes.Clone(text)
	flipped[40] ^= 1
	if err := os.WriteFile(path, flipped, 0o600); err != nil {
		t.Fatal(err)
	}
	if notes, damaged, err := ReadRegister(path); len(notes) != 2 || damaged != 1 || err != nil {
		t.Errorf("a changed byte: %d notes, %d damaged (%v), want 2 and 1", len(notes), damaged, err)
	}
	for range 2 { // what is there is not written again
		if err := r.CopyTo(card); err != nil {
			t.Fatal(err)
		}
	}
	if there, err := os.ReadFile(filepath.Join(card, RegisterName)); err != nil || !bytes.Equal(there, text) {
		t.Errorf("the copy is\n%s(%v), want\n%s", there, err, text)
	}
	r.KeepAlso(card)
	if err := r.Add(note(5, NotePaired)); err != nil {
		t.Fatal(err)
	}
	if notes, _, err := ReadRegister(filepath.Join(card, RegisterName)); err != nil || len(notes) != 4 {
		t.Errorf("the copy has %d notes (%v), want every new one at once", len(notes), err)
	}
}
