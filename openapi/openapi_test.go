package openapi

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func run(t *testing.T, args ...string) {
	t.Helper()
	out, err := exec.Command("go", args...).CombinedOutput()
	if err != nil {
		t.Fatalf("go %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

func same(t *testing.T, committed, generated string) {
	t.Helper()
	a, err := os.ReadFile(committed)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(generated)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a, b) {
		t.Errorf("%s is not what is generated: run go generate ./openapi", committed)
	}
}

func TestGeneratingChangesNothing(t *testing.T) {
	folder := t.TempDir()
	contract, settings := filepath.Join(folder, "openapi.yaml"), filepath.Join(folder, "generate.yaml")
	code := filepath.Join(folder, "openapi.gen.go")
	run(t, "run", "schemas.go", "schemas_record.go", "schemas_result.go", folder)
	same(t, "openapi.yaml", contract)
	same(t, "generate.yaml", settings)
	text, err := os.ReadFile(settings)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte("output: openapi.gen.go"), []byte("output: "+code), 1)
	if err := os.WriteFile(settings, text, 0o600); err != nil {
		t.Fatal(err)
	}
	run(t, "tool", "oapi-codegen", "-config", settings, "openapi.yaml")
	same(t, "openapi.gen.go", code)
}

func TestContractIsWhole(t *testing.T) {
	document, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for path, item := range document.Paths.Map() {
		for method, op := range item.Operations() {
			where := method + " " + path
			if op.OperationID == "" || seen[op.OperationID] {
				t.Errorf("%s has the operationId %q, which is empty or stands twice", where, op.OperationID)
			}
			seen[op.OperationID] = true
			if op.Summary == "" || op.Responses.Default() == nil {
				t.Errorf("%s lacks a summary or its answer to errors", where)
			}
			open := op.Security != nil && len(*op.Security) == 0
			if _, ok := op.Extensions["x-role"].(string); ok == open {
				t.Errorf("%s is open: %v, and has a role: %v", where, open, ok)
			}
		}
	}
}
