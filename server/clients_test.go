package main

import (
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

// clients is where the clients stand that know the contract and nothing of us.
const clients = "../testdata/clients"

// aDay is what every generated client says of the README's day.
const aDay = `production: The Night Ferry
take: 1
clip: 4300 readOff
take: 2
clip: 4300 carriedOver
clip: 4300 readOff
white: window, measured next take: 3
deviation: A: 53 mired too cool, takes 1 and 2
colour log: attachment; filename="the-night-ferry-color-log.csv"; filename*=UTF-8''The%20Night%20Ferry-color-log.csv
edit: 00c0ffee00c0ffee.1 taken
edits of others: 13
note: B has the longer lens from here on
`

// handedOver is what one says of what post asks.
const handedOver = `found: 1 2
footage: 1 0 no clip in the log is named like these
how right: no cards, so nobody can say
to build again: window
open: the day is not closed
frame: PNG true
changes since: 0 true
linked servers: 0
`

// A bench is a folder in which a client is made of what a real server serves.
type bench struct {
	*testing.T
	folder, url, code string
}

func newBench(t *testing.T) *bench {
	t.Helper()
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{T: t, folder: t.TempDir()}
	b.url, b.code, _ = serveIn(t, program, filepath.Join(b.folder, "data"))
	b.fetch("/openapi.yaml", "openapi.yaml")
	return b
}

// fetch writes what the server serves to a file.
func (b *bench) fetch(address, file string) {
	b.Helper()
	answer, err := http.Get(b.url + address)
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		b.Fatalf("%s: %s %v", address, answer.Status, err)
	}
	if err := os.WriteFile(filepath.Join(b.folder, file), text, 0o600); err != nil {
		b.Fatal(err)
	}
}

// bring copies files of a client.
func (b *bench) bring(from string, files ...string) {
	b.Helper()
	for _, file := range files {
		text, err := os.ReadFile(filepath.Join(clients, from, file))
		if err != nil {
			b.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(b.folder, file), text, 0o600); err != nil {
			b.Fatal(err)
		}
	}
}

// run runs a program, in the folder unless it is told another, and returns what it prints.
func (b *bench) run(in, name string, args ...string) string {
	b.Helper()
	c := exec.Command(name, args...)
	if c.Dir = in; in == "" {
		c.Dir = b.folder
	}
	c.Env = append(os.Environ(), "GOFLAGS=-trimpath", "GOWORK=off")
	var wrong strings.Builder
	c.Stderr = &wrong
	out, err := c.Output()
	if err != nil {
		b.Fatalf("%s %s: %v\n%s%s", name, strings.Join(args, " "), err, last(out, 4000), last([]byte(wrong.String()), 4000))
	}
	return string(out)
}

func TestAGoClientFromTheServedContractLivesADay(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.bring("go", "main.go", "proof.go", "grey.png", "go.mod", "go.sum")
	if err := os.Mkdir(filepath.Join(b.folder, "contract"), 0o700); err != nil {
		t.Fatal(err)
	}
	b.run("..", "go", "tool", "oapi-codegen", "-generate", "models,client", "-package", "contract",
		"-o", filepath.Join(b.folder, "contract", "contract.gen.go"), filepath.Join(b.folder, "openapi.yaml"))
	b.run("", "go", "build", "-o", "day", ".")
	if got := b.run("", filepath.Join(b.folder, "day"), b.url, b.code); got != aDay+handedOver {
		t.Errorf("got\n%swant\n%s", got, aDay+handedOver)
	}
	modules := b.run("", "go", "list", "-deps", "./...")
	if strings.Contains(modules, "evenwhite") {
		t.Errorf("the client is built on us: %s", modules)
	}
}

func TestATypeScriptClientFromTheServedContractLivesADay(t *testing.T) {
	t.Parallel()
	tools, err := filepath.Abs(filepath.Join(clients, "node_modules"))
	if err != nil {
		t.Fatal(err)
	}
	for _, tool := range []string{"openapi-typescript/bin/cli.js", "typescript/bin/tsc", "openapi-fetch/package.json"} {
		if _, err := os.Stat(filepath.Join(tools, tool)); err != nil {
			needed.Missing(t, tool)
		}
	}
	b := newBench(t)
	b.bring("", "day.ts", "tsconfig.json")
	if err := os.Symlink(tools, filepath.Join(b.folder, "node_modules")); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(b.folder, "package.json"), []byte(`{"type":"module"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	// What has a default may be left out of a request.
	b.run("", "node", filepath.Join(tools, "openapi-typescript/bin/cli.js"), "openapi.yaml", "-o", "contract.ts",
		"--default-non-nullable=false")
	types, err := os.ReadFile(filepath.Join(b.folder, "contract.ts"))
	if err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(string(types), "\n") {
		if strings.Contains(line, "Record<string, never>") && !strings.HasPrefix(line, "export type") {
			t.Errorf("line %d is an object that may hold nothing: %s", i+1, line)
		}
	}
	b.run("", "node", filepath.Join(tools, "typescript/bin/tsc"), "-p", ".")
	if got := b.run("", "node", "day.js", b.url, b.code); got != aDay+handedOver {
		t.Errorf("got\n%swant\n%s", got, aDay+handedOver)
	}
}
