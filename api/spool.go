package api

import (
	"bytes"
	"errors"
	"io"
	"os"

	"evenwhite/logbook/handover"
)

// A spool holds what waits in a file that has no name any more where the system allows that, so that nothing
// stays behind. What no file takes, of a full disk or none, is held in memory.
type spool struct {
	file  *os.File // nil: there is none
	named bool     // it has its name still
	rest  bytes.Buffer
}

// NewSpool is for handover.Log.
func NewSpool() handover.Spool {
	f, err := os.CreateTemp("", "evenwhite-*")
	if err != nil {
		return &spool{}
	}
	return &spool{file: f, named: os.Remove(f.Name()) != nil}
}

func (s *spool) Write(piece []byte) (int, error) {
	n := 0
	if s.file != nil && s.rest.Len() == 0 {
		var err error
		if n, err = s.file.Write(piece); err == nil {
			return n, nil
		}
	}
	s.rest.Write(piece[n:])
	return len(piece), nil
}

func (s *spool) WriteTo(w io.Writer) (n int64, err error) {
	if s.file != nil {
		if _, err = s.file.Seek(0, io.SeekStart); err == nil {
			n, err = io.Copy(w, s.file)
		}
		if err != nil {
			return n, err
		}
	}
	more, err := s.rest.WriteTo(w)
	return n + more, err
}

func (s *spool) Close() error {
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if s.named {
		err = errors.Join(err, os.Remove(s.file.Name()))
	}
	return err
}
