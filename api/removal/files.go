package removal

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"syscall"

	"evenwhite/logbook"
)

// files are written into a folder that gets its name when all of them are whole.
type files struct {
	into    string // in which the folder is made
	at      string // where it is now
	written []File
}

// unfinished is how a folder begins that has not got its name yet, as files of the store do.
const unfinished = ".evenwhite-removing-"

func newFiles(into string) (*files, error) {
	if err := os.MkdirAll(into, 0o700); err != nil {
		return nil, fullError(err)
	}
	at, err := os.MkdirTemp(into, unfinished+"*")
	return &files{into: into, at: at}, fullError(err)
}

// add writes a file and reads it back: its bytes must be those that were written, and same
// must find in them what they stand for.
func (f *files) add(name string, write func(io.Writer) error, same func(io.Reader) error) error {
	path := filepath.Join(f.at, name)
	of, err := writeFile(path, write)
	if err != nil {
		return fmt.Errorf("%s could not be written: %w", name, fullError(err))
	}
	if err := readBack(path, of, same); err != nil {
		return fmt.Errorf("%s, read back: %w", name, err)
	}
	f.written = append(f.written, of)
	return nil
}

func writeFile(path string, write func(io.Writer) error) (of File, err error) {
	to, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return of, err
	}
	defer func() { err = errors.Join(err, to.Close()) }()
	sum := sha256.New()
	pieces := bufio.NewWriterSize(io.MultiWriter(to, sum), 256<<10)
	if err := write(pieces); err != nil {
		return of, err
	}
	if err := pieces.Flush(); err != nil {
		return of, err
	}
	info, err := to.Stat()
	if err != nil {
		return of, err
	}
	return File{filepath.Base(path), info.Size(), hex.EncodeToString(sum.Sum(nil))}, to.Sync()
}

func readBack(path string, of File, same func(io.Reader) error) (err error) {
	from, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	sum := sha256.New()
	read := io.TeeReader(from, sum)
	if err := same(read); err != nil {
		return err
	}
	if _, err := io.Copy(io.Discard, read); err != nil {
		return err
	}
	if hex.EncodeToString(sum.Sum(nil)) != of.SHA256 {
		return fmt.Errorf("%w: its bytes are not those that were written", logbook.ErrDamaged)
	}
	return nil
}

// anyBytes is for files of which the bytes say all.
func anyBytes(io.Reader) error { return nil }

// name gives the folder its name, durably.
func (f *files) name(name string) error {
	if err := syncFolder(f.at); err != nil {
		return err
	}
	to := filepath.Join(f.into, name)
	if _, err := os.Lstat(to); !errors.Is(err, os.ErrNotExist) {
		return errors.Join(err, fmt.Errorf("%s: %w: ask again in a second", to, os.ErrExist))
	}
	if err := os.Rename(f.at, to); err != nil {
		return fullError(err)
	}
	f.at = to
	return syncFolder(f.into)
}

// discard removes what was written.
func (f *files) discard() error { return os.RemoveAll(f.at) }

// syncFolder makes names in a folder durable, where its file system can.
func syncFolder(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	if err = d.Sync(); errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		err = nil
	}
	return errors.Join(err, d.Close())
}

// fullError names a disk that has no room for a file.
func fullError(err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return fmt.Errorf("%w (%v)", logbook.ErrFull, err)
	}
	return err
}
