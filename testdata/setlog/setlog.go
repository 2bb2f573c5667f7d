// Package setlog reads the workload setlog-1: 2,000 records that 20 devices hold,
// and the 500 edits that each of them makes while it is apart. It is invented, and
// lies beside the project.
package setlog

import (
	"bufio"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
)

// Devices is how many devices edit.
const Devices = 20

// An Edit is one line of the workload.
type Edit struct {
	Device, N, Record int // all from 0
	Field             string
	Value             string // as JSON
	True, Claimed     int64  // Unix milliseconds: when it was made, and by the device's clock
}

// Base returns the records as JSON objects. An error that wraps os.ErrNotExist
// says that the workload is not beside the project.
func Base() (records []string, err error) {
	err = eachLine("setlog-1.base.jsonl.gz", func(line []byte) error {
		records = append(records, string(line))
		return nil
	})
	return records, err
}

// Edits returns the edits, each device's own in the order in which it made them.
func Edits() (edits []Edit, err error) {
	err = eachLine("setlog-1.edits.jsonl.gz", func(line []byte) error {
		var e Edit
		var value json.RawMessage
		row := []any{&e.Device, &e.N, &e.Record, &e.Field, &value, &e.True, &e.Claimed}
		if err := json.Unmarshal(line, &row); err != nil || len(row) != 7 {
			return fmt.Errorf("edit %s: %d members, %w", line, len(row), err)
		}
		e.Value = string(value)
		edits = append(edits, e)
		return nil
	})
	return edits, err
}

func eachLine(name string, do func([]byte) error) error {
	path, err := beside(name)
	if err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(z)
	for lines.Scan() {
		if err := do(lines.Bytes()); err != nil {
			return err
		}
	}
	return lines.Err()
}

// beside finds a file of the workload from any folder of the project.
func beside(name string) (string, error) {
	for folder := "."; ; folder = filepath.Join("..", folder) {
		if _, err := os.Stat(filepath.Join(folder, "go.mod")); err == nil {
			return filepath.Join(folder, "..", "shared", "bench", name), nil
		}
		if whole, err := filepath.Abs(folder); err != nil || whole == filepath.Dir(whole) {
			return "", fmt.Errorf("the folder of the project: %w", os.ErrNotExist)
		}
	}
}
