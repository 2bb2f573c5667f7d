package removal

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
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
	d, err := f.begin(name)
	if err != nil {
		return err
	}
	return f.end(d, write(d), same)
}

// begin opens a file, which end must be called for.
func (f *files) begin(name string) (*draft, error) {
	d, err := newDraft(filepath.Join(f.at, name))
	if err != nil {
		err = notWritten(name, err)
	}
	return d, err
}

// end makes a file durable and reads it back, unless writing it failed.
func (f *files) end(d *draft, failed error, same func(io.Reader) error) error {
	of, err := d.end(failed)
	if err != nil {
		return notWritten(d.name(), err)
	}
	if err := readBack(filepath.Join(f.at, of.Name), of, same); err != nil {
		return fmt.Errorf("%s, read back: %w", of.Name, err)
	}
	f.written = append(f.written, of)
	return nil
}

func notWritten(name string, err error) error {
	return fmt.Errorf("%s could not be written: %w", name, fullError(err))
}

// A draft is a file that is being written. It counts and hashes what it is given, so that nothing
// is read for that.
type draft struct {
	to     *os.File
	sum    hash.Hash
	pieces *bufio.Writer
}

func newDraft(path string) (*draft, error) {
	to, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return nil, err
	}
	sum := sha256.New()
	return &draft{to, sum, bufio.NewWriterSize(io.MultiWriter(to, sum), 256<<10)}, nil
}

func (d *draft) name() string { return filepath.Base(d.to.Name()) }

func (d *draft) Write(b []byte) (int, error) { return d.pieces.Write(b) }

func (d *draft) end(failed error) (of File, err error) {
	defer func() { err = errors.Join(err, d.to.Close()) }()
	if failed != nil {
		return of, failed
	}
	if err := d.pieces.Flush(); err != nil {
		return of, err
	}
	info, err := d.to.Stat()
	if err != nil {
		return of, err
	}
	return File{d.name(), info.Size(), hex.EncodeToString(d.sum.Sum(nil))}, d.to.Sync()
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
