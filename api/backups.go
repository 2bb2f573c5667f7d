package api

import (
	"errors"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/openapi"
)

// Backups are what the server makes by itself. Both methods may be called at once.
type Backups interface {
	// List gives those that are there, the newest first.
	List() ([]Backup, error)
	// Make makes one in each folder, unless nothing changed since the last; fresh reports
	// whether it did. The error is ErrBackup where it could not in each.
	Make() (last Backup, fresh bool, err error)
	// Warnings say what keeps further ones from being made.
	Warnings() []string
}

// A Backup is a file that was read back and checked when it was written, and is again from time to time.
type Backup struct {
	Name      string
	MadeAt    time.Time
	CheckedAt time.Time
	Bytes     int64
	Second    bool // it lies in the folder that was named besides
	Unread    bool // the file can no longer be looked at
	Broken    bool // it was no longer whole
}

var (
	// ErrNoBackups says that the server makes none.
	ErrNoBackups = errors.New("this server was started without backups")
	// ErrBackup says that one could not be made.
	ErrBackup = errors.New("no backup could be made in each of the folders: the server's log says why. " +
		"What is logged is not touched by that, and the server tries again by itself")
)

func (s *service) backupAnswer(b Backup) openapi.Backup {
	out := openapi.Backup{Name: b.Name, MadeAt: b.MadeAt.UTC(), AgeSeconds: int64(s.Now().Sub(b.MadeAt).Seconds()), Bytes: b.Bytes,
		CheckedAt: b.CheckedAt.UTC(), Place: openapi.Own, Check: openapi.Passed}
	if b.Second {
		out.Place = openapi.Second
	}
	switch {
	case b.Unread:
		out.Check = openapi.Unread
	case b.Broken:
		out.Check = openapi.Failed
	}
	return out
}

// ListBackups lists the backups. Folders are the machine's own matter.
func (s *service) ListBackups(c echo.Context) error {
	if s.Backups == nil {
		return ErrNoBackups
	}
	all, err := s.Backups.List()
	if err != nil {
		return err
	}
	out := openapi.Backups{Backups: []openapi.Backup{}, Warnings: append([]string{}, s.Backups.Warnings()...)}
	for _, b := range all {
		out.Backups = append(out.Backups, s.backupAnswer(b))
	}
	return answer(c, http.StatusOK, out)
}

// MakeBackup backs the store up.
func (s *service) MakeBackup(c echo.Context) error {
	if s.Backups == nil {
		return ErrNoBackups
	}
	last, fresh, err := s.Backups.Make()
	if err != nil {
		return err
	}
	status := http.StatusOK
	if fresh {
		status = http.StatusCreated
	}
	return answer(c, status, s.backupAnswer(last))
}
