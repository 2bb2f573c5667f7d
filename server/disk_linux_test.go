package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/storetest"
)

// A full disk under a real server: what is pushed is to come later, changes by REST
// are refused with what to do, reading goes on, and when there is room all goes on.
func TestAFullDiskUnderTheServer(t *testing.T) {
	disk := t.TempDir()
	storetest.MountSmall(t, disk, "4m")
	h := openHubIn(t, filepath.Join(disk, "data"), 0, "--backup-every", "0")
	base := "/v1/productions/" + h.production.String()
	n := 0
	edit := func(text string) string {
		n++
		return fmt.Sprintf(`{"production":"%s","kind":"note","record":"01a212d6-9f19-7f2b-a888-%012d","device":"01a212d6-9ae1-7d6c-9382-78f49a39b6a7","line":"00c0ffee00c0ffee","n":%d,"at":"2031-03-05T20:50:01.250Z","offsetMs":0,"by":"2nd AC","set":{"text":"a bird","more":"%s"}}`,
			h.production, n, n, text)
	}
	outcome := func(edits ...string) string {
		status, body := h.ask("POST", base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`)
		var said crashAnswer
		if err := json.Unmarshal([]byte(body), &said); err != nil || status != 200 || len(said.Answers) != len(edits) {
			t.Fatalf("an exchange was answered %d %s", status, body)
		}
		return said.Answers[len(edits)-1].Outcome
	}
	if got := outcome(edit("")); got != logbook.AnswerTaken {
		t.Fatalf("with room: %s", got)
	}
	free := storetest.FillUp(t, disk)
	taken := 1
	large := strings.Repeat("x", 30_000)
	for outcome(edit(large)) == logbook.AnswerTaken { // pages that are free within the file are still written
		taken++
	}
	var waiting []string
	for range 20 {
		waiting = append(waiting, edit(large))
	}
	if got := outcome(waiting...); got != logbook.AnswerLater {
		t.Errorf("a push to a full disk is answered %s, want %s", got, logbook.AnswerLater)
	}
	status, body := h.ask("POST", base+"/records/note", `{"about":"`+h.production.String()+`","text":"`+strings.Repeat("no room ", 200)+`","to":{"as":"set"}}`)
	for i := 0; status == 201 && i < 1000; i++ { // the last free pages
		taken++
		status, body = h.ask("POST", base+"/records/note", `{"about":"`+h.production.String()+`","text":"`+strings.Repeat("no room ", 200)+`","to":{"as":"set"}}`)
	}
	if status != http.StatusInsufficientStorage || !strings.Contains(body, "urn:evenwhite:problem:disk-full") ||
		!strings.Contains(body, "make room") {
		t.Errorf("a change on a full disk is answered %d %s", status, body)
	}
	for _, path := range []string{base, base + "/records/note", base + "/deviations", "/v1/devices", "/readyz"} {
		if status, body := h.ask("GET", path, ""); status != 200 {
			t.Errorf("reading %s on a full disk is answered %d %s", path, status, body)
		}
	}
	free()
	if got := outcome(waiting...); got != logbook.AnswerTaken {
		t.Errorf("with room again: %s", got)
	}
	taken += len(waiting)
	h.kill()
	report, err := bolt.Check(databaseOf(h.folder))
	if err != nil || len(report.Problems) > 0 || report.Edits != taken+1 {
		t.Errorf("the store holds %d edits (%v %v), want the %d that were acknowledged and the production",
			report.Edits, err, report.Problems, taken)
	}
}

// A server that was killed on a full disk starts again: what is there can be read.
func TestAServerStartsOnAFullDisk(t *testing.T) {
	disk := t.TempDir()
	storetest.MountSmall(t, disk, "4m")
	h := openHubIn(t, filepath.Join(disk, "data"), 0)
	base := "/v1/productions/" + h.production.String()
	h.kill()
	free := storetest.FillUp(t, disk)
	h.start()
	for _, path := range []string{base, base + "/records/note", "/v1/devices"} {
		if status, body := h.ask("GET", path, ""); status != 200 {
			t.Errorf("reading %s is answered %d %s", path, status, body)
		}
	}
	ready := func() (said struct {
		Status   string
		Warnings []string
	}) {
		t.Helper()
		status, body := h.ask("GET", "/readyz", "")
		if err := json.Unmarshal([]byte(body), &said); err != nil || status != 200 {
			t.Fatalf("readyz is answered %d %s", status, body)
		}
		return said
	}
	if said := ready(); said.Status != "degraded" || !strings.Contains(strings.Join(said.Warnings, "\n"), "answered later") {
		t.Errorf("readyz says %+v, want that pushes are answered later", said)
	}
	push := func() string {
		t.Helper()
		_, body := h.ask("POST", base+"/exchange", fmt.Sprintf(`{"edits":[{"production":"%s","kind":"note","record":"01a212d6-9f19-7f2b-a888-000000000001",`+
			`"device":"01a212d6-9ae1-7d6c-9382-78f49a39b6a7","line":"00c0ffee00c0ffee","n":1,"at":"2031-03-05T20:50:01.250Z","offsetMs":0,"by":"2nd AC",`+
			`"set":{"text":"a bird","more":"%s"}}]}`, h.production, strings.Repeat("x", 60_000)))
		var said crashAnswer
		if err := json.Unmarshal([]byte(body), &said); err != nil || len(said.Answers) != 1 {
			t.Fatalf("a push is answered %s", body)
		}
		return said.Answers[0].Outcome
	}
	if got := push(); got != logbook.AnswerLater {
		t.Errorf("a push is answered %s, want %s", got, logbook.AnswerLater)
	}
	free()
	if got := push(); got != logbook.AnswerTaken {
		t.Errorf("with room, a push is answered %s", got)
	}
	h.kill()
	h.start()
	if said := ready(); said.Status != "ok" {
		t.Errorf("with room, readyz says %+v", said)
	}
}

// Under the name of a card that was taken out lies an empty folder, on the disk of the
// data: a backup there would be none.
func TestABackupDoesNotGoBesideTheDataWhereACardWas(t *testing.T) {
	card := t.TempDir()
	storetest.MountSmall(t, card, "8m")
	w := keepWatch(t, card)
	w.edit()
	w.hour()
	w.holds(card, 1)
	if err := syscall.Unmount(card, 0); err != nil {
		t.Fatal(err)
	}
	w.edit()
	w.hour()
	w.says("A BACKUP FAILED", "was the card taken out?")
	w.holds(card, 0)
	w.holds(w.own.path, 2)
	if got := w.Warnings(); len(got) != 1 {
		t.Errorf("got the warnings %q", got)
	}
}

func TestABackupWithoutRoomSaysSo(t *testing.T) {
	card := t.TempDir()
	storetest.MountSmall(t, card, "4m")
	w := keepWatch(t, card)
	w.edit()
	free := storetest.FillUp(t, card)
	w.hour()
	w.says("A BACKUP FAILED", "the disk is full", "make room there")
	w.holds(card, 0)
	w.holds(w.own.path, 1)
	free()
	w.hour()
	w.says("backups are made again")
	w.holds(card, 1)
}
