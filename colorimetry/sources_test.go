package colorimetry

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var sourceKey = regexp.MustCompile(`\[([A-Z][A-Z0-9]+[A-Z0-9.-]*(?:, [A-Z][A-Z0-9.-]+)*)\]`)

func TestEveryNamedSourceIsListed(t *testing.T) {
	sources, err := os.ReadFile("../testdata/colorimetry/SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	listed := string(sources)
	var files []string
	for _, pattern := range []string{"*.go", "spectrumfile/*.go", "tables/*.go", "tables/*.md"} {
		found, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, found...)
	}
	named := 0
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(string(data), "\n") {
			if strings.HasSuffix(file, ".go") && !strings.Contains(line, "//") {
				continue
			}
			for _, match := range sourceKey.FindAllStringSubmatch(line, -1) {
				for _, key := range strings.Split(match[1], ", ") {
					if _, local := localNames[key]; local {
						continue
					}
					named++
					if !strings.Contains(listed, "| ["+key+"] |") {
						t.Errorf("%s names the source %s, which SOURCES.md does not list", file, key)
					}
				}
			}
		}
	}
	if named < 20 {
		t.Errorf("found %d named sources, want the reader to find at least 20", named)
	}
}

// localNames are links of the documentation to names of this package.
var localNames = map[string]bool{"CAT16": true, "CAT02": true, "XYZ": true, "XY": true, "UV": true, "D65": true}

func TestEveryCheckFileIsListed(t *testing.T) {
	sources, err := os.ReadFile("../testdata/colorimetry/SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir("../testdata/colorimetry")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() == "SOURCES.md" {
			continue
		}
		if !strings.Contains(string(sources), "| "+e.Name()+" |") {
			t.Errorf("SOURCES.md does not list %s", e.Name())
		}
		if strings.HasSuffix(e.Name(), ".json") {
			t.Run(e.Name(), func(t *testing.T) { checkRows(t, e.Name()) })
		}
	}
}

// One table names sources and the other files: each row once, with a key or a file first,
// and files rest on sources of the first table or say that they are our own.
func TestTheTablesOfSourcesAreInOrder(t *testing.T) {
	sources, err := os.ReadFile("../testdata/colorimetry/SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	before, files, found := strings.Cut(string(sources), "## Files")
	if !found {
		t.Fatal("SOURCES.md has no heading Files")
	}
	row := regexp.MustCompile(`(?m)^\| ([^|]+) \| ([^|]+) \|`)
	keys := map[string]bool{}
	for _, m := range row.FindAllStringSubmatch(before, -1) {
		if m[1] == "key" {
			continue
		}
		if !sourceKey.MatchString(m[1]) || keys[m[1]] {
			t.Errorf("the table of sources has the row %q: no key, or twice", m[1])
		}
		keys[m[1]] = true
	}
	seen := map[string]bool{}
	for _, m := range row.FindAllStringSubmatch(files, -1) {
		if m[1] == "file" {
			continue
		}
		if _, err := os.Stat(filepath.Join("../testdata/colorimetry", m[1])); err != nil || seen[m[1]] {
			t.Errorf("the table of files has the row %q: no file, or twice", m[1])
		}
		seen[m[1]] = true
		named := sourceKey.FindAllString(m[2], -1)
		for _, key := range named {
			if !keys[key] {
				t.Errorf("%s rests on %s, which the table of sources does not have", m[1], key)
			}
		}
		if own := strings.Contains(m[2], "no publication") || strings.Contains(m[2], "no source"); len(named) == 0 && !own {
			t.Errorf("%s rests on %q: neither a source nor our own", m[1], m[2])
		}
	}
	if len(keys) < 30 || len(seen) < 40 {
		t.Errorf("found %d sources and %d files, want the reader to find them", len(keys), len(seen))
	}
}
