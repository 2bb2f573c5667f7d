package zone

import (
	"archive/zip"
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"
)

//go:embed zoneinfo.zip
var packed []byte

// ErrUnknown is wrapped by errors about a name that is not in the table.
var ErrUnknown = errors.New("the time zone is not known")

var table = sync.OnceValues(func() (map[string]*zip.File, error) {
	r, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return nil, err
	}
	files := make(map[string]*zip.File, len(r.File))
	for _, f := range r.File {
		files[f.Name] = f
	}
	return files, nil
})

// Of is the zone of a name such as Europe/Berlin.
func Of(name string) (*time.Location, error) {
	files, err := table()
	if err != nil {
		return nil, err
	}
	f := files[name]
	if f == nil || f.FileInfo().IsDir() {
		return nil, fmt.Errorf("%w: it is %q, allowed is a name of the time zone database such as Europe/Berlin", ErrUnknown, name)
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	return time.LoadLocationFromTZData(name, data)
}
