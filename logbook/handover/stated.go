package handover

import (
	"archive/zip"
	"bufio"
	"compress/gzip"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"evenwhite/logbook/colorlog"
)

// ErrStateless is wrapped by errors about a file that names no state.
var ErrStateless = errors.New("no colour log that names its state stands in it; allowed are its JSON, CSV and zip forms")

// StateIn reads the name of the state out of a colour log that was written as JSON, packed JSON, CSV
// or archive.
func StateIn(file io.ReaderAt, size int64) (string, error) {
	begin := make([]byte, 4)
	n, _ := file.ReadAt(begin, 0)
	all := io.NewSectionReader(file, 0, size)
	switch begin := string(begin[:n]); {
	case strings.HasPrefix(begin, "PK"):
		return stateInArchive(file, size)
	case strings.HasPrefix(begin, "\x1f\x8b"):
		plain, err := gzip.NewReader(all)
		if err != nil {
			return "", fmt.Errorf("%w: %v", ErrStateless, err)
		}
		return stateInJSON(plain)
	case strings.HasPrefix(begin, "{"):
		return stateInJSON(all)
	}
	return stateInCSV(all)
}

func stateInArchive(file io.ReaderAt, size int64) (string, error) {
	files, err := zip.NewReader(file, size)
	if err != nil {
		return "", fmt.Errorf("%w: %v", ErrStateless, err)
	}
	form, _ := FormOf("json")
	log, err := files.Open(form.File)
	if err != nil {
		return "", fmt.Errorf("%w: %v", ErrStateless, err)
	}
	defer log.Close()
	return stateInJSON(log)
}

func stateInJSON(r io.Reader) (string, error) {
	d := json.NewDecoder(bufio.NewReader(r))
	if _, err := d.Token(); err != nil {
		return "", fmt.Errorf("%w: %v", ErrStateless, err)
	}
	for d.More() { // the state stands before the rows
		name, err := d.Token()
		var value json.RawMessage
		if err == nil && name != "rows" {
			err = d.Decode(&value)
		}
		var state colorlog.State
		if err == nil && name == "state" {
			err = json.Unmarshal(value, &state)
		}
		switch {
		case err != nil:
			return "", fmt.Errorf("%w: %v", ErrStateless, err)
		case state.Name != "":
			return state.Name, nil
		case name == "rows":
			return "", ErrStateless
		}
	}
	return "", ErrStateless
}

// stateInCSV looks at all rows: somebody may have sorted them.
func stateInCSV(r io.Reader) (string, error) {
	rows := csv.NewReader(r)
	rows.FieldsPerRecord, rows.LazyQuotes, rows.ReuseRecord = -1, true, true
	header, err := rows.Read()
	at := slices.Index(header, colorlog.StateNameColumn)
	if err != nil || at < 0 {
		return "", ErrStateless
	}
	for {
		row, err := rows.Read()
		if err != nil {
			return "", ErrStateless
		}
		if at < len(row) && row[at] != "" {
			return row[at], nil
		}
	}
}
