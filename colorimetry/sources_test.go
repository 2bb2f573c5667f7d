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
	for _, pattern := range []string{"*.go", "tables/*.go", "tables/*.md"} {
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
var localNames = map[string]bool{"CAT16": true, "CAT02": true, "XYZ": true, "XY": true, "UV": true, "D65": true, "CIEDE2000": true}

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
