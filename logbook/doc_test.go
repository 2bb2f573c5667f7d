package logbook

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

func TestTheMapOfThePackageNamesEveryFamilyOfFiles(t *testing.T) {
	text, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{"doc": true}
	for _, word := range regexp.MustCompile(`[a-z]+`).FindAllString(string(text), -1) {
		named[word] = true
	}
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) < 50 {
		t.Fatalf("got %d files, %v; want those of this package", len(files), err)
	}
	for _, file := range files {
		family, _, _ := strings.Cut(strings.TrimSuffix(file, ".go"), "_")
		if !strings.HasSuffix(file, "_test.go") && !named[family] {
			t.Errorf("doc.go does not name %s, the family of %s", family, file)
		}
	}
}
